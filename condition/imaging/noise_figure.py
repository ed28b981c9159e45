"""How much two photos of an unchanged surface differ, by lightness and steepness, from the pair itself."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

BINS = 10
CELLS = BINS * BINS + BINS
SAMPLE = 250_000
FEWEST = 60
APART_TIMES = 1.5
"""What is kept apart is less alike than a cell's pixels: how bright a glint is beyond the stop, no photo says."""


@dataclass(frozen=True, slots=True, eq=False)
class Cells:
    """Pixels sorted into 10 x 10 cells of equal shares, and those kept apart into 10 of their own.

    of_pixel : uint8 (H, W); step : every so many rows and columns are sampled; usable : bool, flat, of the sample
    order, bounds : the usable sample sorted by cell, and where each of the 110 begins
    """

    of_pixel: np.ndarray
    step: int
    usable: np.ndarray
    order: np.ndarray
    bounds: np.ndarray

    def spread_of(self, difference: np.ndarray) -> np.ndarray:
        """Robust standard deviation of a difference (H, W) in each cell, float32 (110,): 1.4826 times the median
        size."""
        sizes = np.abs(difference[:: self.step, :: self.step]).ravel()[self.usable][self.order]
        whole = float(np.median(sizes)) if sizes.size else 0.0
        spread = np.full(CELLS, whole, np.float32)
        kept_apart = sizes[self.bounds[BINS * BINS] :]
        if kept_apart.size:
            spread[BINS * BINS :] = max(whole, np.median(kept_apart))
        for cell in range(CELLS):
            own = sizes[self.bounds[cell] : self.bounds[cell + 1]]
            if own.size > FEWEST:
                spread[cell] = np.median(own)
        spread[BINS * BINS :] *= APART_TIMES
        return np.float32(1.4826) * spread


def cells_of(one: np.ndarray, other: np.ndarray, usable: np.ndarray, apart: np.ndarray | None = None) -> Cells:
    """Sort every pixel by two figures, uint8 (H, W) each, and those of ``apart``, bool (H, W), by the second only."""
    cells = np.zeros(one.shape, np.uint8)
    step = max(1, int(np.sqrt(usable.size / SAMPLE)))
    sampled = usable[::step, ::step].ravel()
    for factor, values in ((BINS, one), (1, other)):
        sample = values[::step, ::step].ravel()[sampled]
        if sample.size:
            edges = np.unique(np.quantile(sample, np.linspace(0, 1, BINS + 1)[1:-1]))
            table = (factor * np.searchsorted(edges, np.arange(256))).astype(np.uint8)
            cells += table[values]
    if apart is not None:
        cells[apart] = BINS * BINS + cells[apart] % BINS
    of_sample = cells[::step, ::step].ravel()[sampled]
    order = np.argsort(of_sample, kind="stable")
    bounds = np.searchsorted(of_sample[order], np.arange(CELLS + 1))
    return Cells(cells, step, sampled, order, bounds)

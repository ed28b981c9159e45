"""How much two photos of an unchanged surface differ, by lightness and steepness, from the pair itself."""

from __future__ import annotations

import numpy as np

BINS = 10


def cells_of(lightness: np.ndarray, steepness: np.ndarray, usable: np.ndarray) -> np.ndarray:
    """Sort every pixel into one of 10 x 10 cells of equal shares; uint8 (H, W)."""
    cells = np.zeros(lightness.shape, np.uint8)
    for factor, values in ((BINS, lightness), (1, steepness)):
        sample = values[::3, ::3][usable[::3, ::3]]
        if sample.size:
            edges = np.unique(np.quantile(sample, np.linspace(0, 1, BINS + 1)[1:-1]))
            cells += (factor * np.searchsorted(edges, values.ravel())).reshape(values.shape).astype(np.uint8)
    return cells


def means_of(values: np.ndarray, cells: np.ndarray, usable: np.ndarray) -> np.ndarray:
    """Mean of values (H, W) in each cell, float32 (100,)."""
    of_cell = cells[usable]
    count = np.bincount(of_cell, minlength=BINS * BINS)
    total = np.bincount(of_cell, weights=values[usable], minlength=BINS * BINS)
    return (total / np.maximum(count, 1)).astype(np.float32)


def spread_of(difference: np.ndarray, cells: np.ndarray, usable: np.ndarray, steep: np.ndarray) -> np.ndarray:
    """Robust standard deviation of a difference (H, W) in each cell, float32 (100,): 1.4826 times the median size.

    steep : (100,), the most that edges of each cell can differ by when the photos lie as well as they do. A cell has no
        more noise than that and the least steep surface of its lightness: dark edges are also where strings and bores
        are, which do change.
    """
    sizes, of_cell = np.abs(difference[usable]), cells[usable]
    order = np.argsort(of_cell, kind="stable")
    sizes = sizes[order]
    bounds = np.searchsorted(of_cell[order], np.arange(BINS * BINS + 1))
    whole = float(np.median(sizes)) if sizes.size else 0.0
    spread = np.empty(BINS * BINS, np.float32)
    for cell in range(BINS * BINS):
        own = sizes[bounds[cell] : bounds[cell + 1]]
        spread[cell] = np.median(own) if own.size > 60 else whole
    spread *= np.float32(1.4826)
    plain = np.minimum(np.median(spread.reshape(BINS, BINS)[:, :3], axis=1), 2 * np.median(spread))
    return np.minimum(spread, np.hypot(np.repeat(plain, BINS), steep))

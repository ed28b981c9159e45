"""Corners of a bank card lying on the surface: its four sides followed in the photo and prolonged to where they meet.

A card's corners are round and its colours unknown: a side is where the light changes most across it, dark or bright.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from condition.imaging.card_sides import Corners, Side, crossing, side_line
from condition.imaging.edges import Window, window_of

SEARCH_SHARE = 0.035
"""How far a corner set by hand may be off, as a share of the mean side."""
KEEP_SHARE = 0.12
"""Left out at both ends of a side: the round corners, 3.18 mm by ISO/IEC 7810, and what a hand covers."""
REACH_PX = (2.0, 4.0)
EDGE_MM = 0.1
"""Standard uncertainty of where the edge of a card is: it is rounded, and casts a shadow (common practice)."""
MEAN_SIDE_MM = 69.79


def refined_bank_card(rgb: np.ndarray, corners_px: np.ndarray) -> Corners | None:
    """Corners (4, 2) px where the prolonged sides meet and their standard uncertainty; None where a side is not seen.

    Parameters
    ----------
    rgb : upright photo, uint8 (H, W, 3)
    corners_px : set by hand, in order round the card
    """
    start = np.asarray(corners_px, float)
    side = float(np.hypot(*(np.roll(start, -1, axis=0) - start).T).mean())
    search = float(np.clip(SEARCH_SHARE * side, 3.0, 25.0))
    reach = float(np.clip(0.012 * side, *REACH_PX))
    window = window_of(rgb, start, search + 3 * reach + 4)
    inverted = replace(window, light=1.0 - window.light)
    corners, lines = start, []
    for round_ in range(4):
        lines = []
        for i in range(4):
            ends = corners[i], corners[(i + 1) % 4]
            ends, rises = _moved(window, *ends, search if round_ == 0 else 2.0)
            lines.append(side_line(window if rises else inverted, *ends, reach, 2.0 if round_ < 2 else 0.8, KEEP_SHARE))
        if any(line is None for line in lines):
            return None
        moved = np.array([crossing(lines[i - 1], lines[i]) for i in range(4)])
        if not np.isfinite(moved).all() or np.hypot(*(moved - start).T).max() > 1.5 * search:
            return None
        settled = np.abs(moved - corners).max() < 0.02
        corners = moved
        if settled:
            break
    return Corners(corners, _standard(lines, side))


def _standard(lines: list[Side], side_px: float) -> float:
    fitted = float(np.sqrt(np.mean([line.end_sd_px**2 for line in lines])))
    return float(np.hypot(fitted, EDGE_MM * side_px / MEAN_SIDE_MM))


def _moved(
    window: Window, start: np.ndarray, end: np.ndarray, search: float
) -> tuple[tuple[np.ndarray, np.ndarray], bool]:
    """A side moved and turned to where the light changes most across it, and whether it gets lighter outwards."""
    length = float(np.hypot(*(end - start)))
    along = (end - start) / length
    out = np.array([along[1], -along[0]])
    offsets = np.arange(-search - 1.5, search + 1.75, 0.5)
    shares = np.linspace(KEEP_SHARE, 1 - KEEP_SHARE, max(24, int(length / 3)))
    light = window.sample((start + (end - start) * shares[:, None])[:, None] + offsets[:, None] * out)
    rise = np.gradient(np.nan_to_num(light, nan=float(np.nanmean(light))), axis=1)
    steps = np.arange(-8, 9) * search / 8
    best, chosen, rises = -1.0, (0.0, 0.0), True
    for first in steps:
        for last in steps:
            place = first + (last - first) * shares
            cell = np.clip(np.rint((place - offsets[0]) / 0.5).astype(int), 1, len(offsets) - 2)
            rows = np.arange(len(shares))
            mean = float((rise[rows, cell] + 0.5 * (rise[rows, cell - 1] + rise[rows, cell + 1])).mean())
            if abs(mean) > best:
                best, chosen, rises = abs(mean), (float(first), float(last)), mean > 0
    return (start + chosen[0] * out, end + chosen[1] * out), rises

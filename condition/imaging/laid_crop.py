"""A part of the return photo in the intake photo's frame, and in its light, for pictures that stand side by side."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from condition.imaging.overlay import Overlay, laid_over, through
from condition.imaging.tone import Tone, in_light_of

SPARE_PX = 8


def laid_crop(
    after: np.ndarray,
    homography: Sequence[float],
    box: tuple[int, int, int, int],
    tone: Sequence[tuple[float, float]] = (),
) -> np.ndarray:
    """Return what the return photo shows in a box of the intake photo.

    Parameters
    ----------
    after : uint8, shape (H, W, 3), sRGB, upright
    homography : nine numbers row by row, from upright pixels of the intake photo to those of the return photo
    box : left, top, right, bottom in the intake photo
    tone : slope and offset for each channel (see :mod:`condition.imaging.tone`); without it, the photo's own light

    Returns
    -------
    uint8, shape (bottom - top, right - left, 3); what the return photo does not show is light grey.
    """
    left, top, right, bottom = box
    matrix = np.array(homography, float).reshape(3, 3)
    corners = np.array([(left, top), (right, top), (right, bottom), (left, bottom)], float)
    seen = through(matrix, corners)
    low = np.clip(np.floor(seen.min(0) - SPARE_PX), 0, (after.shape[1] - 1, after.shape[0] - 1)).astype(int)
    high = np.clip(np.ceil(seen.max(0) + SPARE_PX), low + 1, (after.shape[1], after.shape[0])).astype(int)
    part = np.ascontiguousarray(after[low[1] : high[1], low[0] : high[0]])
    moved = np.array([[1, 0, -low[0]], [0, 1, -low[1]], [0, 0, 1.0]])
    there = np.array([[1, 0, left], [0, 1, top], [0, 0, 1.0]])
    laid, shown = laid_over(part, Overlay(moved @ matrix @ there, right - left, bottom - top))
    if len(tone) == 3:
        slopes, offsets = np.array(tone, float).T
        laid = in_light_of(laid, Tone(slopes, offsets, np.zeros((2, 2, 3), np.float32)))
    laid[~shown] = 217
    return laid

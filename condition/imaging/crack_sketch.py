"""The cost of following a crack through a whole photo at reduced size, a byte a pixel.

A page fetches it once a photo and finds the first rough way from any click in it by itself, with no question asked.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from condition.imaging.crack_cost import CLIP_PERCENTILE, crack_cost, local_contrast
from condition.imaging.lightness import lightness_of

LARGEST_SKETCH_PX = 1_000_000
UNITS = 200
"""Bytes to a cost of 1: costs of 0.1 to 1.1 are bytes of 20 to 220."""
BLOCK_PX = 128
"""What is high is asked in windows of twice this side, so that a dark string does not hide a fine crack far from it."""


@dataclass(frozen=True, slots=True)
class CrackSketch:
    """Costs from the photo's corner on.

    scale : upright pixels to one of the sketch's, a power of two
    dark, light : uint8, shape (H, W), :data:`UNITS` times :func:`condition.imaging.crack_cost.crack_cost`
    """

    scale: int
    dark: np.ndarray
    light: np.ndarray


def crack_sketch(rgb: np.ndarray) -> CrackSketch:
    """Return the costs for dark and for light cracks over a whole upright photo, uint8 (H, W, 3)."""
    height, width = rgb.shape[:2]
    scale = 1
    while height * width / scale**2 > LARGEST_SKETCH_PX:
        scale *= 2
    rows, columns = max(1, height // scale), max(1, width // scale)
    part = rgb[: rows * scale, : columns * scale]
    if scale > 1:
        part = cv2.resize(part, (columns, rows), interpolation=cv2.INTER_AREA)
    contrast = local_contrast(lightness_of(part))
    dark, light = (
        np.round(UNITS * crack_cost(one, unit_nearby)).clip(1, 255).astype(np.uint8) for one in (contrast, -contrast)
    )
    return CrackSketch(scale, dark, light)


def unit_nearby(values: np.ndarray) -> np.ndarray:
    """Return values over the high percentile of their surroundings, clipped to 0..1; float32, shape (H, W)."""
    rows, columns = values.shape
    down, across = max(1, round(rows / BLOCK_PX)), max(1, round(columns / BLOCK_PX))
    tops = np.empty((down, across), np.float32)
    for row in range(down):
        for column in range(across):
            middle_row, middle_column = int((row + 0.5) * rows / down), int((column + 0.5) * columns / across)
            part = values[
                max(0, middle_row - BLOCK_PX) : middle_row + BLOCK_PX : 2,
                max(0, middle_column - BLOCK_PX) : middle_column + BLOCK_PX : 2,
            ]
            tops[row, column] = np.percentile(part, CLIP_PERCENTILE)
    spread = cv2.resize(tops, (columns, rows), interpolation=cv2.INTER_LINEAR)
    return np.clip(values / np.maximum(spread, np.float32(1e-6)), 0, 1)

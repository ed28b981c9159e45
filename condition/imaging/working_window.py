"""A part of a photo at a size that a search can afford, and the way back to the photo's own pixels."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np

from condition.records.shapes import Pair, Ring

WORKING_SIDE_PX = 400
"""Longer parts are searched at reduced scale."""


@dataclass(frozen=True, slots=True)
class Window:
    """A part of the photo at working scale: its pixels times ``scale`` plus the corner are upright pixels.

    rgb : uint8, shape (H, W, 3)
    """

    left: int
    top: int
    scale: float
    rgb: np.ndarray

    def pixel(self, point: Pair) -> tuple[int, int]:
        """Return the (row, column) nearest an upright point."""
        rows, columns = self.rgb.shape[:2]
        row = int((point[1] - self.top) / self.scale)
        column = int((point[0] - self.left) / self.scale)
        return min(rows - 1, max(0, row)), min(columns - 1, max(0, column))

    def pixels(self, points: tuple[Pair, ...]) -> list[tuple[int, int]]:
        """Return the (row, column) of those upright points that lie in the window."""
        rows, columns = self.rgb.shape[:2]
        return [
            self.pixel(point)
            for point in points
            if 0 <= point[0] - self.left < columns * self.scale and 0 <= point[1] - self.top < rows * self.scale
        ]

    def painted(self, ring: Ring) -> np.ndarray:
        """Return the pixels inside an upright ring, bool (H, W)."""
        mask = np.zeros(self.rgb.shape[:2], np.uint8)
        corner = np.array([self.left, self.top])
        loops = [(np.array(loop) - corner) / self.scale - 0.5 for loop in (ring.points, *ring.holes)]
        cv2.fillPoly(mask, [np.int32(np.round(loop * 16)) for loop in loops], 1, shift=4)
        return mask.astype(bool)

    def upright(self, points: np.ndarray) -> np.ndarray:
        """Return window points (N, 2) of x, y as upright pixels."""
        return points * self.scale + np.array([self.left, self.top], float)


def window_of(rgb: np.ndarray, left: float, top: float, right: float, bottom: float) -> Window:
    """Cut a part out of a photo, clipped to it, reduced to :data:`WORKING_SIDE_PX`."""
    x0, y0 = max(0, int(left)), max(0, int(top))
    part = rgb[y0 : max(y0 + 1, math.ceil(bottom)), x0 : max(x0 + 1, math.ceil(right))]
    scale = max(1.0, max(part.shape[:2]) / WORKING_SIDE_PX)
    if scale > 1:
        size = (max(1, round(part.shape[1] / scale)), max(1, round(part.shape[0] / scale)))
        part = cv2.resize(part, size, interpolation=cv2.INTER_AREA)
    return Window(x0, y0, scale, np.ascontiguousarray(part))


def windows_about(rgb: np.ndarray, points: tuple[Pair, ...]) -> list[Window]:
    """Return windows about points, each half as wide again as the last, until the whole photo is one."""
    height, width = rgb.shape[:2]
    middle = np.mean(np.array(points), axis=0)
    half = max(WORKING_SIDE_PX / 2, float(np.ptp(np.array(points), axis=0).max()))
    windows = []
    while True:
        low, high = middle - half, middle + half
        windows.append(window_of(rgb, *low, *high))
        if low[0] <= 0 and low[1] <= 0 and high[0] >= width and high[1] >= height:
            return windows
        half *= 1.5

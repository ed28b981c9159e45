"""Paths as vertices: made smooth, thinned, measured."""

from __future__ import annotations

import cv2
import numpy as np


def length_along(points: np.ndarray) -> np.ndarray:
    """Return the length from the first vertex to each, shape (N,), of points of shape (N, 2)."""
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])


def every(points: np.ndarray, step: float) -> np.ndarray:
    """Return the path with equally spaced vertices about ``step`` apart, both ends kept."""
    lengths = length_along(points)
    at = np.linspace(0, lengths[-1], max(2, round(lengths[-1] / step) + 1))
    return np.stack([np.interp(at, lengths, points[:, axis]) for axis in (0, 1)], axis=1)


def smoothed(points: np.ndarray, sigma: float) -> np.ndarray:
    """Return the path after a Gaussian of ``sigma`` along its length, one vertex a unit, its two ends kept in place.

    The path is continued through each end by its point reflection, so that it does not shrink. A staircase of pixels
    is up to 8 % longer than the line it follows; this takes it away.
    """
    points = every(points, 1.0)
    reach = min(len(points) - 1, int(4 * sigma) + 1)
    before = 2 * points[0] - points[reach:0:-1]
    after = 2 * points[-1] - points[-2 : -reach - 2 : -1]
    offsets = np.arange(-reach, reach + 1)
    kernel = np.exp(-0.5 * (offsets / sigma) ** 2)
    kernel /= kernel.sum()
    padded = np.concatenate([before, points, after])
    result = np.stack([np.convolve(padded[:, axis], kernel, mode="valid") for axis in (0, 1)], axis=1)
    result[0], result[-1] = points[0], points[-1]
    return result


def thinned(points: np.ndarray, tolerance: float) -> np.ndarray:
    """Return the fewest of the vertices that stay within ``tolerance`` of the path.

    Source: Douglas and Peucker 1973.
    """
    kept = cv2.approxPolyDP(points.astype(np.float32).reshape(-1, 1, 2), tolerance, closed=False).reshape(-1, 2)
    result = kept.astype(np.float64)
    result[0], result[-1] = points[0], points[-1]
    return result

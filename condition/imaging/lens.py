"""Focal length and radial distortion of a photo's lens, in pixels of the upright photo.

Distortion is ``r_d = r (1 + k1 q^2 + k2 q^4)`` with ``q = r / half diagonal``, so that ``k1`` is the relative shift of
a point at the corner of the picture (the radial part of Brown, Photogrammetric Engineering 37, 1971).
"""

from __future__ import annotations

import math

import numpy as np

FARTHEST = 4.0
"""Largest radius, in half diagonals, that is undistorted: far outside any picture."""
FULL_FRAME_DIAGONAL_MM = math.hypot(36.0, 24.0)


def half_diagonal_px(width: int, height: int) -> float:
    return math.hypot(width, height) / 2


def focal_px(focal_35mm: float, width: int, height: int) -> float:
    """Focal length in pixels from the 35 mm equivalent, by equal diagonals (CIPA DCG-001, from memory)."""
    return focal_35mm / FULL_FRAME_DIAGONAL_MM * math.hypot(width, height)


def distort(ideal_px: np.ndarray, k1: np.ndarray, k2: np.ndarray, half: float) -> np.ndarray:
    """Move offsets from the principal point from where a pinhole shows them to where the lens does.

    ideal_px : (..., N, 2); k1, k2 broadcast against (..., N)
    """
    q2 = (ideal_px**2).sum(-1) / half**2
    return ideal_px * (1 + q2 * (k1 + k2 * q2))[..., None]


def undistort(seen_px: np.ndarray, k1: np.ndarray, k2: np.ndarray, half: float) -> np.ndarray:
    """Undo :func:`distort` (Newton on the radius, to 1e-12 of the half diagonal)."""
    seen = np.sqrt((seen_px**2).sum(-1)) / half
    q = seen.copy()
    for _ in range(20):
        q2 = q * q
        step = (q * (1 + q2 * (k1 + k2 * q2)) - seen) / np.maximum(1 + q2 * (3 * k1 + 5 * k2 * q2), 0.2)
        q = np.clip(q - step, 0.0, FARTHEST)
        if np.abs(step).max(initial=0.0) < 1e-12:
            break
    return seen_px * np.where(seen > 0, q / np.where(seen > 0, seen, 1), 1.0)[..., None]

"""How much each pixel looks like a crack: a narrow valley of lightness that differs from its surroundings."""

from __future__ import annotations

import cv2
import numpy as np

CONTRAST_SIGMA_PX = 15.0
"""Surroundings against which lightness is judged."""
RIDGE_SIGMAS_PX = (1.0, 1.6, 2.5)
"""Half widths of the valleys looked for."""
CLIP_PERCENTILE = 99.9
RIDGE_SHARE = 0.6
FLOOR = 0.1
"""Cost of a step along the plainest crack; 1 + FLOOR away from any. The square root in between keeps a path from
wandering along the many weak valleys of a busy ground."""
EVEN_LIGHTNESS = 1.0
"""Lightness steps (L*) below this standard deviation are taken for noise on an even surface, not stretched."""


def local_contrast(lightness: np.ndarray) -> np.ndarray:
    """Return lightness less its surroundings' mean, over their standard deviation; float32, shape (H, W)."""
    mean = cv2.GaussianBlur(lightness, (0, 0), CONTRAST_SIGMA_PX)
    variance = cv2.GaussianBlur((lightness - mean) ** 2, (0, 0), CONTRAST_SIGMA_PX)
    return (lightness - mean) / np.sqrt(variance + np.float32(EVEN_LIGHTNESS**2))


def valley_strength(contrast: np.ndarray) -> np.ndarray:
    """Return the largest second derivative across any direction, times sigma squared, over :data:`RIDGE_SIGMAS_PX`.

    Source: Sato et al. 1998 (the larger eigenvalue of the Hessian at several scales), positive parts only.
    """
    strongest = np.zeros_like(contrast)
    for sigma in RIDGE_SIGMAS_PX:
        smooth = cv2.GaussianBlur(contrast, (0, 0), sigma)
        xx = cv2.Sobel(smooth, cv2.CV_32F, 2, 0, ksize=3, scale=0.25)
        yy = cv2.Sobel(smooth, cv2.CV_32F, 0, 2, ksize=3, scale=0.25)
        xy = cv2.Sobel(smooth, cv2.CV_32F, 1, 1, ksize=3, scale=0.25)
        larger = 0.5 * (xx + yy) + np.sqrt(0.25 * (xx - yy) ** 2 + xy**2)
        np.maximum(strongest, np.float32(sigma**2) * larger, out=strongest)
    return strongest


def crack_cost(contrast: np.ndarray) -> np.ndarray:
    """Return the cost of following a dark crack through each pixel, float32, shape (H, W), FLOOR..1 + FLOOR.

    Parameters
    ----------
    contrast : float32, shape (H, W), from :func:`local_contrast`; its negative for a light crack
    """
    ridge = _unit(valley_strength(contrast))
    darkness = _unit(-cv2.GaussianBlur(contrast, (0, 0), 1.0))
    unlike = np.float32(RIDGE_SHARE) * (1 - ridge) + np.float32(1 - RIDGE_SHARE) * (1 - darkness)
    return np.float32(FLOOR) + np.sqrt(unlike)


def _unit(values: np.ndarray) -> np.ndarray:
    """Return values over their high percentile, clipped to 0..1; one pixel in nine is asked on large pictures."""
    step = 3 if values.size > 200_000 else 1
    top = float(np.percentile(values[::step, ::step], CLIP_PERCENTILE))
    return np.clip(values / np.float32(max(top, 1e-6)), 0, 1)

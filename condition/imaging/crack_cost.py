"""How much each pixel looks like a crack: a narrow valley of lightness that differs from its surroundings."""

from __future__ import annotations

from collections.abc import Callable

import cv2
import numpy as np

CONTRAST_SIGMA_PX = 15.0
"""Surroundings against which lightness is judged."""
NEAR_SIGMA_PX = 6.0
FINE_SIGMA_PX = 0.6
FLANK_PX = 3
"""How far to either side of a valley its two flanks are looked for: near enough that joints and figure, which are wider
than cracks, do not pass for one."""
DIRECTIONS = 8
CLIP_PERCENTILE = 99.8
VALLEY_SHARE = 0.85
"""The rest is plain darkness, which keeps the path inside a crack wider than its flanks are apart."""
FLOOR, POWER = 0.1, 0.7
"""Cost of a step along the plainest crack; 1 + FLOOR away from any. The power in between keeps a path from wandering
along the many weak valleys of a busy ground."""
EVEN_LIGHTNESS = 1.0
"""Lightness steps (L*) below this standard deviation are taken for noise on an even surface, not stretched."""


def local_contrast(lightness: np.ndarray) -> np.ndarray:
    """Return lightness less its surroundings' mean, over their standard deviation; float32, shape (H, W)."""
    mean = _broadly_smoothed(lightness, CONTRAST_SIGMA_PX)
    variance = np.maximum(_broadly_smoothed((lightness - mean) ** 2, CONTRAST_SIGMA_PX), 0)
    return (lightness - mean) / np.sqrt(variance + np.float32(EVEN_LIGHTNESS**2))


def _broadly_smoothed(values: np.ndarray, sigma: float) -> np.ndarray:
    """Return a Gaussian of a wide sigma, worked out at a quarter of the size: the eye sees no difference, ten times
    as fast."""
    rows, columns = values.shape
    if min(rows, columns) < 16:
        return cv2.GaussianBlur(values, (0, 0), sigma)
    small = cv2.resize(values, (columns // 4, rows // 4), interpolation=cv2.INTER_AREA)
    return cv2.resize(cv2.GaussianBlur(small, (0, 0), sigma / 4), (columns, rows), interpolation=cv2.INTER_LINEAR)


def dip(lightness: np.ndarray) -> np.ndarray:
    """Return how much darker each pixel is than its near surroundings, in L*; float32, shape (H, W)."""
    return _broadly_smoothed(lightness, NEAR_SIGMA_PX) - cv2.GaussianBlur(lightness, (0, 0), 1.0)


def valley_depth(contrast: np.ndarray) -> np.ndarray:
    """Return how far each pixel lies below the lower of its two flanks, in the direction where that is most.

    The lower flank counts, so that neither an edge nor the ground beside a bright line passes for a valley.
    """
    smooth = cv2.GaussianBlur(contrast, (0, 0), FINE_SIGMA_PX)
    rows, columns = smooth.shape
    padded = cv2.copyMakeBorder(smooth, *[FLANK_PX] * 4, cv2.BORDER_REPLICATE)
    highest = np.full_like(smooth, -np.inf)
    for turn in range(DIRECTIONS):
        angle = np.pi * turn / DIRECTIONS
        down, across = round(FLANK_PX * np.sin(angle)), round(FLANK_PX * np.cos(angle))
        one, other = (padded[FLANK_PX + way * down :, FLANK_PX + way * across :][:rows, :columns] for way in (1, -1))
        np.maximum(highest, np.minimum(one, other), out=highest)
    return np.maximum(highest - smooth, 0)


def unit_over(values: np.ndarray) -> np.ndarray:
    """Return values over their high percentile, clipped to 0..1; one pixel in nine is asked on large pictures."""
    step = 3 if values.size > 200_000 else 1
    top = float(np.percentile(values[::step, ::step], CLIP_PERCENTILE))
    return np.clip(values / np.float32(max(top, 1e-6)), 0, 1)


def crack_cost(contrast: np.ndarray, unit: Callable[[np.ndarray], np.ndarray] = unit_over) -> np.ndarray:
    """Return the cost of following a dark crack through each pixel, float32, shape (H, W), FLOOR..1 + FLOOR.

    Parameters
    ----------
    contrast : float32, shape (H, W), from :func:`local_contrast`; its negative for a light crack
    unit : brings values to 0..1 by what is high among them
    """
    valley = unit(valley_depth(contrast))
    darkness = unit(-cv2.GaussianBlur(contrast, (0, 0), 1.0))
    unlike = np.float32(VALLEY_SHARE) * (1 - valley) + np.float32(1 - VALLEY_SHARE) * (1 - darkness)
    return np.float32(FLOOR) + np.maximum(unlike, 0) ** np.float32(POWER)

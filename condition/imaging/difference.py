"""Where two photos in one frame and one light differ by more than this pair's own noise.

Lightness and colour apart, over several scales, each against the noise of surface equally light and equally steep.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from condition.imaging.lightness import lab_of
from condition.imaging.noise_figure import cells_of, means_of, spread_of

BLUR_PX = 0.8
SCALES_PX = (1.2, 2.0, 4.0, 8.0)
FLOORS = (0.8, 0.65, 0.5, 0.4)
"""Least standard deviation at each scale: what two photos of one surface differ by at best (measured)."""
EDGE_PX = 0.15
"""What resampling and unequal sharpening do to edges, as a shift, beside what the registration leaves."""
JOINT = 0.87
"""Three channels joined exceed a bound more often than one: makes 4 as rare as in one."""
CHROMA_FROM_PX = 2.0
"""JPEG keeps colour at half size: finer colour is noise."""
THRESHOLD = 4.0
PEAK = 4.2
"""Largest departure a change must reach; it is followed down to :data:`THRESHOLD`."""
SURE_PEAK = 5.0
"""Unchanged pairs reach 3 to 5: from here up a change is told without doubt."""
CLOSE_PX = 9
LEAST_AREA_PX = 9
DARK_LIGHTNESS = 9.0
"""Bores and gaps that are dark in both photos tell nothing."""
SLOW_SHARE = 1 / 12
STRIP_ROWS = 256


@dataclass(frozen=True, slots=True, eq=False)
class Difference:
    """departure : float32 (H, W), in standard deviations, 0 where not compared
    offset : float32 (H, W, 3), return less intake in L*, a*, b*, slow part taken out
    before : float32 (H, W, 3), the intake photo in L*, a*, b*
    """

    departure: np.ndarray
    offset: np.ndarray
    before: np.ndarray


def blurred(picture: np.ndarray, sigma: float) -> np.ndarray:
    """Gaussian blur; above 3 px by way of a reduced picture, to a hundredth of the contrast."""
    by = 1
    while sigma / by > 3.0:
        by *= 2
    if by == 1 or min(picture.shape[:2]) < 4 * by:
        return cv2.GaussianBlur(picture, (0, 0), sigma)
    size = picture.shape[1::-1]
    small = cv2.resize(
        picture, (max(1, round(size[0] / by)), max(1, round(size[1] / by))), interpolation=cv2.INTER_AREA
    )
    rest = np.sqrt(max((sigma / by) ** 2 - 0.25, 0.25))
    return cv2.resize(cv2.GaussianBlur(small, (0, 0), rest), size, interpolation=cv2.INTER_LINEAR)


def difference_of(before: np.ndarray, relit: np.ndarray, usable: np.ndarray, residual_px: float = 0.0) -> Difference:
    """Compare two pictures.

    Parameters
    ----------
    before, relit : uint8 (H, W, 3) sRGB, one frame, one light, equally sharp
    usable : bool (H, W), where they can be compared
    residual_px : what the registration leaves; above half a pixel the noise on edges is taken as larger
    """
    one = _lab_of(cv2.GaussianBlur(before, (0, 0), BLUR_PX))
    offset = _lab_of(cv2.GaussianBlur(relit, (0, 0), BLUR_PX))
    offset -= one
    weight = usable.astype(np.float32)
    for channel in range(3):
        offset[..., channel] -= _slow(offset[..., channel], weight)
    del weight
    offset[~usable] = 0
    lightness = one[..., 0]
    steepness = _steepness_of(lightness)
    cells = cells_of(lightness, steepness, usable)
    chroma = cv2.magnitude(np.ascontiguousarray(one[..., 1]), np.ascontiguousarray(one[..., 2]))
    chroma *= np.float32(0.045)
    chroma += 1
    departure = np.zeros(usable.shape, np.float32)
    sample = np.zeros_like(usable)
    sample[::3, ::3] = usable[::3, ::3]
    steep = (EDGE_PX + min(residual_px, EDGE_PX)) * means_of(steepness, cells, sample)
    for scale, floor in zip(SCALES_PX, FLOORS, strict=True):
        joint = np.zeros_like(departure)
        for channel in range(3):
            if channel and scale < CHROMA_FROM_PX:
                continue
            shown = blurred(np.ascontiguousarray(offset[..., channel]), scale)
            if channel:
                shown /= chroma
            variance = (spread_of(shown, cells, sample, steep) ** 2 + np.float32(floor**2))[cells]
            if residual_px > 0.5:
                variance += ((residual_px - 0.5) * steepness) ** 2
            shown *= shown
            shown /= variance
            del variance
            joint += shown
        np.maximum(departure, joint, out=departure)
    np.sqrt(departure, out=departure)
    departure *= np.float32(JOINT)
    departure[~usable] = 0
    return Difference(departure, offset, one)


def _lab_of(rgb: np.ndarray) -> np.ndarray:
    """L*a*b* (D65), float32 (H, W, 3), in strips."""
    out = np.empty(rgb.shape, np.float32)
    for top in range(0, rgb.shape[0], STRIP_ROWS):
        rows = slice(top, top + STRIP_ROWS)
        out[rows] = lab_of(rgb[rows])
    return out


def _steepness_of(lightness: np.ndarray) -> np.ndarray:
    """Slope of lightness, per pixel, float32 (H, W), after a further blur."""
    smooth = cv2.GaussianBlur(lightness, (0, 0), 1.2)
    across = cv2.Sobel(smooth, cv2.CV_32F, 1, 0, scale=1 / 8)
    down = cv2.Sobel(smooth, cv2.CV_32F, 0, 1, scale=1 / 8)
    return cv2.magnitude(across, down, across)


def _slow(values: np.ndarray, weight: np.ndarray) -> np.ndarray:
    """The slow part of a difference (H, W), what stands out of it weighted down."""
    height, width = values.shape
    by = max(1, max(height, width) // 200)
    size = (max(1, width // by), max(1, height // by))
    small = cv2.resize(values * weight, size, interpolation=cv2.INTER_AREA)
    share = cv2.resize(weight, size, interpolation=cv2.INTER_AREA)
    mean = small / np.maximum(share, 1e-3)
    sigma = max(SLOW_SHARE * max(size), 40 / by)
    sound = share > 0.5
    held, slow = share * sound, np.zeros_like(mean)
    for _ in range(3):
        slow = cv2.GaussianBlur(mean * held, (0, 0), sigma) / (cv2.GaussianBlur(held, (0, 0), sigma) + 1e-4)
        away = np.abs(mean - slow)
        spread = max(1.4826 * float(np.median(away[sound])) if sound.any() else 1.0, 0.3)
        held = share * sound * np.clip(1 - (away / (3 * spread)) ** 2, 0, None) ** 2
    return cv2.resize(slow, (width, height), interpolation=cv2.INTER_LINEAR)


def regions_of(departure: np.ndarray) -> list[tuple[float, tuple[slice, slice], np.ndarray]]:
    """Coherent regions that depart: (peak, window, bool mask in the window), the surest first."""
    above = (departure > THRESHOLD).astype(np.uint8)
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (CLOSE_PX, CLOSE_PX))
    closed = cv2.morphologyEx(above, cv2.MORPH_CLOSE, kernel)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(closed, connectivity=8)
    found = []
    for label in range(1, count):
        left, top, wide, tall, area = (int(v) for v in stats[label])
        if area < LEAST_AREA_PX:
            continue
        window = (slice(top, top + tall), slice(left, left + wide))
        mask = labels[window] == label
        peak = float(departure[window][mask].max())
        if peak >= PEAK:
            found.append((peak, window, mask))
    return sorted(found, key=lambda region: -region[0])

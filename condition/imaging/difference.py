"""Where two photos in one frame and one light differ by more than this pair's own noise.

Lightness and two colour differences as a camera's file holds them (ITU-R BT.601), apart, over several scales, each
against the noise of surface equally light and equally steep, and of the surroundings; what a fraction of a pixel
between the two explains is taken off.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from condition.imaging.blur_match import matching_kernel
from condition.imaging.noise_figure import Cells, cells_of
from condition.imaging.shift_residue import shifts_of, slopes_of, take_off

CHANNELS = np.array(
    [(0.299, 0.587, 0.114), (-0.168736, -0.331264, 0.5), (0.5, -0.418688, -0.081312)], np.float32
)  # fmt: skip
BLUR_PX = 0.7
SCALES_PX = (1.2, 2.0, 4.0, 8.0)
FLOORS = (0.4, 0.35, 0.3, 0.25)
LIT_ANEW_FLOORS = (0.8, 0.65, 0.5, 0.4)
"""Least standard deviation at each scale, in 8-bit levels: what two photos of one surface differ by at best, where the
lamps stood still and where they moved (measured)."""
FINEST_FLOOR = 0.7
"""As that, before any blur but :data:`BLUR_PX`."""
REDUCED_BY = (1, 1, 2, 4)
CHROMA_FROM_PX = 2.0
"""JPEG keeps colour at half size: finer colour is noise."""
JOINT = 0.87
"""Three channels joined exceed a bound more often than one: makes 4 as rare as in one."""
OWN_SHARE = 0.6
"""Share of a coarse difference that the place itself must have at 2 px: its surroundings have less."""
SPILL_SD, SPILL_LEVELS = 5.0, 2.5
"""Standard deviations of the reduced picture, and 8-bit levels, that a difference counts for at most at coarse scales:
finer ones see it as clearly."""
AROUND_PX = 48
MEAN_SIZE, MOST_SIZE = 0.797, 3.0
"""Mean size of a normal variate cut off at 3; below, so that a change itself hardly counts as noise."""
THRESHOLD = 4.0
PEAK = 4.3
"""Largest departure a change must reach; it is followed down to :data:`THRESHOLD`."""
SURE_PEAK = 5.3
"""Unchanged pairs reach 3 to 5: from here up a change is told without doubt."""
CLOSE_PX = 9
LEAST_AREA_PX = 9
DARK_LIGHTNESS = 9.0
"""Bores and gaps that are dark in both photos tell nothing."""
SLOW_SHARE = 1 / 12
COLOUR_REACH_PX = 11
"""Across the round place whose steepest colour counts: JPEG keeps colour at half size and in blocks, so what is lost of
a step of colour shows beside it."""
STEEPNESS_CODED = 8.0
"""Slopes are sorted as 8-bit numbers: levels a pixel, times this."""


@dataclass(frozen=True, slots=True, eq=False)
class Difference:
    """departure : float32 (H, W), in standard deviations, 0 where not compared
    before, relit : uint8 (H, W, 3), the two photos in one frame and light
    """

    departure: np.ndarray
    before: np.ndarray
    relit: np.ndarray


def difference_of(
    before: np.ndarray,
    relit: np.ndarray,
    usable: np.ndarray,
    near_stop: np.ndarray | None = None,
    lit_anew: bool = False,
) -> Difference:
    """Compare two pictures.

    Parameters
    ----------
    before, relit : uint8 (H, W, 3) sRGB, one frame, one light, about equally sharp
    usable : bool (H, W), where they can be compared
    near_stop : bool (H, W), where a channel is cut off or that is near: the colour is uncertain there
    lit_anew : whether the lamps stood elsewhere
    """
    weight = usable.astype(np.float32)
    offsets, steepness = [], []
    for channel in range(3):
        one, two = (_channel(picture, channel) for picture in (before, relit))
        one = cv2.filter2D(one, -1, matching_kernel(one, two, usable), borderType=cv2.BORDER_REFLECT)
        slopes = slopes_of(one)
        steepness.append(_steepness_of(slopes))
        two -= one
        two -= _slow(two, weight)
        two *= weight
        if channel == 0:
            lightness = np.clip(one, 0, 255).astype(np.uint8)
            plain = cells_of(lightness, steepness[0], usable, near_stop)
            spread = np.sqrt(plain.spread_of(two) ** 2 + np.float32(FINEST_FLOOR**2))[plain.of_pixel]
            shifts = shifts_of(two, slopes, spread, weight)
            del spread
        take_off(two, slopes, shifts)
        two *= weight
        offsets.append(two)
    steepest = cv2.dilate(np.maximum(*steepness[1:]), _disc(COLOUR_REACH_PX))
    colourful = cells_of(lightness, steepest, usable, near_stop)
    del one, slopes, steepness, steepest, lightness
    departure = _departure(offsets, plain, colourful, weight, LIT_ANEW_FLOORS if lit_anew else FLOORS)
    departure *= weight
    return Difference(departure, before, relit)


def _departure(
    offsets: list[np.ndarray], plain: Cells, colourful: Cells, weight: np.ndarray, floors: tuple[float, ...]
) -> np.ndarray:
    height, width = weight.shape
    most = np.zeros(weight.shape, np.float32)
    for scale, floor, by in zip(SCALES_PX, floors, REDUCED_BY, strict=True):
        joint, along, length = None, None, None
        for channel, offset in enumerate(offsets):
            if channel and scale < CHROMA_FROM_PX:
                continue
            cells = colourful if channel else plain
            shown = _reduced_blur(offset, scale, by)
            full = shown if by == 1 else cv2.resize(shown, (width, height), interpolation=cv2.INTER_LINEAR)
            spread = np.sqrt(cells.spread_of(full) ** 2 + np.float32(floor**2))
            squares = full / spread[cells.of_pixel]
            squares *= squares
            squares /= _surroundings(squares, weight) ** 2
            joint = squares if joint is None else cv2.add(joint, squares, joint)
            if by > 1:
                own = cv2.multiply(_reduced_blur(offset, SCALES_PX[1], 1), full)
                along = own if along is None else cv2.add(along, own, along)
                full *= full
                length = full if length is None else cv2.add(length, full, length)
        if along is not None:
            joint[along < OWN_SHARE * length] = 0
        np.maximum(most, joint, out=most)
    np.sqrt(most, out=most)
    most *= np.float32(JOINT)
    return most


def _channel(rgb: np.ndarray, channel: int) -> np.ndarray:
    """One of lightness and two colour differences, float32 (H, W) in 8-bit levels, a little blurred."""
    red, green, blue = cv2.split(rgb)
    of_red, of_green, of_blue = (float(share) for share in CHANNELS[channel])
    mixed = cv2.addWeighted(red, of_red, green, of_green, 0.0, dtype=cv2.CV_32F)
    cv2.scaleAdd(blue.astype(np.float32), of_blue, mixed, mixed)
    return cv2.GaussianBlur(mixed, (0, 0), BLUR_PX)


def _steepness_of(slopes: tuple[np.ndarray, np.ndarray]) -> np.ndarray:
    """Mean slope round each pixel, uint8 (H, W), coded."""
    return cv2.convertScaleAbs(cv2.blur(cv2.magnitude(*slopes), (5, 5)), alpha=STEEPNESS_CODED)


def _reduced_blur(picture: np.ndarray, sigma: float, by: int) -> np.ndarray:
    """Gaussian blur of ``sigma`` full pixels of a picture reduced ``by`` times, which has blurred it a little; what
    stands far out of the noise is cut down there, or it would spill over its surroundings."""
    if by == 1:
        return cv2.GaussianBlur(picture, (0, 0), sigma)
    size = (max(1, round(picture.shape[1] / by)), max(1, round(picture.shape[0] / by)))
    small = cv2.resize(picture, size, interpolation=cv2.INTER_AREA)
    most = max(SPILL_SD * 1.4826 * float(np.median(np.abs(small[:: 8 // by, :: 8 // by]))), SPILL_LEVELS)
    np.clip(small, -most, most, out=small)
    return cv2.GaussianBlur(small, (0, 0), np.sqrt(sigma**2 - (by**2 - 1) / 12) / by)


def _surroundings(squares: np.ndarray, weight: np.ndarray) -> np.ndarray:
    """How much larger than elsewhere the difference is round each pixel, float32 (H, W), at least 1."""
    height, width = squares.shape
    by = 8
    size = (max(1, width // by), max(1, height // by))
    sizes = cv2.resize(np.minimum(np.sqrt(squares), MOST_SIZE) * weight, size, interpolation=cv2.INTER_AREA)
    share = cv2.resize(weight, size, interpolation=cv2.INTER_AREA)
    sigma = AROUND_PX / by
    mean = cv2.GaussianBlur(sizes, (0, 0), sigma) / (cv2.GaussianBlur(share, (0, 0), sigma) + 1e-3)
    ratio = np.maximum(mean / MEAN_SIZE, 1).astype(np.float32)
    return cv2.resize(ratio, (width, height), interpolation=cv2.INTER_LINEAR)


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


def _disc(size_px: int) -> np.ndarray:
    return cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size_px, size_px))


def regions_of(departure: np.ndarray) -> list[tuple[float, tuple[slice, slice], np.ndarray]]:
    """Coherent regions that depart: (peak, window, bool mask in the window), the surest first."""
    above = (departure > THRESHOLD).astype(np.uint8)
    closed = cv2.morphologyEx(above, cv2.MORPH_CLOSE, _disc(CLOSE_PX))
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

"""How a photo is exposed: what is burnt out, what is lost in the dark, and where a lamp is mirrored in the finish.

Source: the highlight and shadow limits are the 8-bit levels from which tone can't be told any more (common practice);
a mirrored lamp differs from white paper by its soft border (measured on constructed highlights, see the tests).
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

CLIPPED_LEVEL = 247
"""From here up, with a camera's noise, a channel may be at its stop."""
DARK_LEVEL = 12
WORKING_SIDE_PX = 1600
SMALLEST_SPOT_SHARE = 2e-5
"""Share of the picture: a disc of about 8 px at the working size."""
SPOT_LIMIT = 20

_RING_PX = (4, 7)
_SOFT_LEVEL = 0.55
"""Part of the way from the surroundings to white that the ring round a spot still has: a print's edge has fallen to
nothing there, a mirrored lamp has not."""
_FAR_PX = 24


@dataclass(frozen=True, slots=True)
class Spot:
    """A mirrored lamp: centre and area in upright-photo pixels."""

    x_px: float
    y_px: float
    area_px: float


@dataclass(frozen=True, slots=True)
class Exposure:
    """Shares 0..1 of the picture.

    blown : all channels burnt out, detail is lost; dark : all channels too dark to tell detail
    glare : the part of the picture that mirrored lamps cover; spots : the largest of them
    """

    blown: float
    dark: float
    glare: float = 0.0
    spots: tuple[Spot, ...] = ()


def measure(rgb: np.ndarray) -> Exposure:
    """Return the exposure of an upright sRGB photo, uint8 of shape (H, W, 3)."""
    height, width = rgb.shape[:2]
    scale = min(1.0, WORKING_SIDE_PX / max(height, width))
    size = (max(1, round(width * scale)), max(1, round(height * scale)))
    small = cv2.resize(rgb, size, interpolation=cv2.INTER_AREA) if scale < 1 else rgb
    darkest = small.min(axis=2)
    spots = _spots(darkest, width / size[0], height / size[1])
    return Exposure(
        blown=float((darkest >= CLIPPED_LEVEL).mean()),
        dark=float((small.max(axis=2) <= DARK_LEVEL).mean()),
        glare=float(sum(spot.area_px for spot in spots) / (width * height)),
        spots=tuple(spots[:SPOT_LIMIT]),
    )


def _spots(darkest: np.ndarray, per_x: float, per_y: float) -> list[Spot]:
    """Find clipped regions with a soft border, largest first; ``darkest`` is the least channel, uint8 (h, w)."""
    clipped = (darkest >= CLIPPED_LEVEL).astype(np.uint8)
    count, labels, stats, centres = cv2.connectedComponentsWithStats(clipped, connectivity=8)
    found = []
    for label in range(1, count):
        left, top, wide, tall, area = (int(value) for value in stats[label])
        if area < SMALLEST_SPOT_SHARE * darkest.size:
            continue
        window = (
            slice(max(0, top - _FAR_PX), top + tall + _FAR_PX),
            slice(max(0, left - _FAR_PX), left + wide + _FAR_PX),
        )
        if _is_soft(darkest[window], labels[window] == label, clipped[window] > 0):
            x, y = centres[label]
            found.append(Spot(float((x + 0.5) * per_x), float((y + 0.5) * per_y), float(area * per_x * per_y)))
    return sorted(found, key=lambda spot: -spot.area_px)


def _is_soft(level: np.ndarray, region: np.ndarray, clipped: np.ndarray) -> bool:
    away = cv2.distanceTransform((~region).astype(np.uint8), cv2.DIST_L2, 3)
    ring = level[(away >= _RING_PX[0]) & (away <= _RING_PX[1]) & ~clipped]
    far = level[(away >= _FAR_PX - 6) & ~clipped]
    if ring.size < 8 or far.size < 8:
        return False
    surroundings = float(np.median(far))
    return float(np.median(ring)) - surroundings > _SOFT_LEVEL * (CLIPPED_LEVEL - surroundings)

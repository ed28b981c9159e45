"""From the mask of a region at working scale to its edge in the photo's own pixels."""

from __future__ import annotations

import cv2
import numpy as np

from condition.imaging.contours import signed_area, zero_rings
from condition.imaging.edge_snap import snapped
from condition.imaging.lightness import linear_of
from condition.imaging.polyline import thinned
from condition.imaging.working_window import Window
from condition.records.shapes import Pair, Ring

LEAST_HOLE_SHARE = 0.01
"""Islands smaller than this share of the region are taken for grain in it."""
THINNING_PX = 0.15


def region_edge(rgb: np.ndarray, window: Window, mask: np.ndarray) -> Ring:
    """Return the largest part of a mask as a ring whose edge was found again at full size.

    Parameters
    ----------
    rgb : uint8, shape (H, W, 3), the upright photo
    mask : bool, the window's shape; one part of it at least 4 px
    """
    field = cv2.GaussianBlur(mask.astype(np.float32), (0, 0), 1.0) - np.float32(0.5)
    rings = zero_rings(field) or zero_rings(mask.astype(np.float32) - np.float32(0.5))
    least = LEAST_HOLE_SHARE * max(signed_area(ring) for ring in rings)
    moved = [_at_full_size(rgb, window, ring) for ring in rings if abs(signed_area(ring)) >= least]
    outer = max(moved, key=signed_area)
    holes = [ring for ring in moved if signed_area(ring) < 0 and _holds(outer, ring[0])]
    return Ring(_pairs(outer), tuple(_pairs(hole) for hole in holes))


def area_of(ring: Ring) -> float:
    """Return the area inside a ring, its holes taken off, px2."""
    loops = [abs(signed_area(np.array(loop))) for loop in (ring.points, *ring.holes)]
    return loops[0] - sum(loops[1:])


def perimeter_of(ring: Ring) -> float:
    """Return the length of a ring's edges, holes included, px."""
    loops = [np.array((*loop, loop[0])) for loop in (ring.points, *ring.holes)]
    return float(sum(np.hypot(*np.diff(loop, axis=0).T).sum() for loop in loops))


def _at_full_size(rgb: np.ndarray, window: Window, ring: np.ndarray) -> np.ndarray:
    reach = 2.0 * window.scale + 2.0
    upright = window.upright(ring)
    low, high = upright.min(axis=0) - reach - 4, upright.max(axis=0) + reach + 4
    x0, y0 = max(0, int(low[0])), max(0, int(low[1]))
    linear = linear_of(rgb[y0 : int(high[1]) + 1, x0 : int(high[0]) + 1])
    corner = np.array([x0, y0], float)
    moved = np.clip(snapped(linear, upright - corner, reach) + corner, 0, [rgb.shape[1], rgb.shape[0]])
    closed = thinned(np.concatenate([moved, moved[:1]]), THINNING_PX)[:-1]
    return closed if len(closed) >= 3 else moved


def _holds(ring: np.ndarray, point: np.ndarray) -> bool:
    outline = ring.astype(np.float32).reshape(-1, 1, 2)
    return cv2.pointPolygonTest(outline, (float(point[0]), float(point[1])), False) >= 0


def _pairs(points: np.ndarray) -> tuple[Pair, ...]:
    return tuple((float(x), float(y)) for x, y in points)

"""How much darker a marked place is than the surface beside it: it falls when a crack closes or a hole is filled.

The same measure is taken on the earlier and on the later photo; being a difference of two places of one photo, it does
not follow the lamps.
"""

from __future__ import annotations

import numpy as np

from condition.imaging.lightness import lightness_of
from condition.measure.geometry import dense
from condition.records.shapes import Circle, Line, Pair, Point, Ring, Shape

INSIDE_PX, BESIDE_PX, FURTHEST_PX = 4.0, 7.0, 14.0
"""Across a line: where it lies though it was drawn by hand, and the surface beside it."""
ALONG = 21
"""Stations averaged along a line, about a pixel apart: it keeps noise and grain out."""
PARALLEL_PX = 30.0
"""How far beside a line the surface's own streaks are looked at, the same way."""
CORE, NEAR, FAR = 0.7, 1.35, 1.9
"""Of a round or ringed mark, in its own size: the inside judged, and the band of surface beside it."""
POINT_RADIUS_PX = 8.0
LEAST_DEPTH = 6.0
"""L*; less than that is no dark line or bore that could close, only what a surface shows anyhow."""


def crop_of(rgb: np.ndarray, points: np.ndarray, spare_px: float) -> tuple[np.ndarray, np.ndarray]:
    """L* of the part of a photo round points (N, 2), and its corner (2,) in the photo's pixels."""
    height, width = rgb.shape[:2]
    low = np.clip(np.floor(points.min(0) - spare_px), 0, (width - 2, height - 2)).astype(int)
    high = np.clip(np.ceil(points.max(0) + spare_px), low + 2, (width, height)).astype(int)
    return lightness_of(rgb[low[1] : high[1], low[0] : high[0]]), low.astype(float)


def line_depths(rgb: np.ndarray, path: np.ndarray, unit_px: float) -> np.ndarray:
    """How much darker a line is than the surface on both sides, L*, at stations a pixel apart.

    Parameters
    ----------
    path : (N, 2) upright pixels
    unit_px : what a pixel of the earlier photo is here
    """
    reach = FURTHEST_PX * unit_px
    light, corner = crop_of(rgb, path, reach + PARALLEL_PX * unit_px + 2)
    stations = dense(path - corner, False, 1.0)
    along = np.gradient(stations, axis=0)
    along = np.column_stack([_smooth(along[:, axis], 15) for axis in (0, 1)])
    along /= np.maximum(np.hypot(*along.T), 1e-9)[:, None]
    across = np.column_stack([-along[:, 1], along[:, 0]])
    depths = _depths(light, stations, across, 0.0, unit_px)
    usual = min(
        float(np.median(_depths(light, stations, across, side * PARALLEL_PX * unit_px, unit_px))) for side in (-1, 1)
    )
    return depths - max(usual, 0.0)


def _depths(light: np.ndarray, stations: np.ndarray, across: np.ndarray, shift: float, unit_px: float) -> np.ndarray:
    offsets = np.arange(-FURTHEST_PX, FURTHEST_PX + 0.25, 0.5) * unit_px
    profiles = _sampled(light, stations[:, None] + (offsets + shift)[None, :, None] * across[:, None])
    profiles = np.column_stack([_smooth(profiles[:, k], ALONG) for k in range(len(offsets))])
    inside = np.abs(offsets) <= INSIDE_PX * unit_px
    beside = np.abs(offsets) >= BESIDE_PX * unit_px
    return np.median(profiles[:, beside], 1) - profiles[:, inside].min(1)


def _smooth(values: np.ndarray, window: int) -> np.ndarray:
    window = min(window, 2 * (len(values) // 2) - 1)
    if window < 3:
        return values
    return np.convolve(np.pad(values, window // 2, mode="edge"), np.ones(window) / window, "valid")


def _sampled(light: np.ndarray, places: np.ndarray) -> np.ndarray:
    """Bilinear samples at places (..., 2) counted from the picture's corner."""
    height, width = light.shape
    x = np.clip(places[..., 0] - 0.5, 0, width - 1.001)
    y = np.clip(places[..., 1] - 0.5, 0, height - 1.001)
    column, row = x.astype(int), y.astype(int)
    u, v = x - column, y - row
    column_next, row_next = np.minimum(column + 1, width - 1), np.minimum(row + 1, height - 1)
    upper = light[row, column] * (1 - u) + light[row, column_next] * u
    lower = light[row_next, column] * (1 - u) + light[row_next, column_next] * u
    return upper * (1 - v) + lower * v


def area_depth(rgb: np.ndarray, ring: np.ndarray, core: float = CORE) -> float | None:
    """How much darker the inside of a ring (N, 2) px is than the band of surface round it, L*; None without pixels.

    core : share of the ring's size that is judged
    """
    import shapely
    from shapely.geometry import Polygon

    shape = Polygon(ring).buffer(0)
    if shape.is_empty:
        return None
    size = float(np.sqrt(shape.area / np.pi))
    inside = shape.buffer(-(1 - core) * size)
    if inside.is_empty:
        inside = shape
    band = shape.buffer((FAR - 1) * size).difference(shape.buffer((NEAR - 1) * size))
    light, corner = crop_of(rgb, ring, FAR * size)
    rows, columns = np.mgrid[: light.shape[0], : light.shape[1]]
    x, y = columns + 0.5 + corner[0], rows + 0.5 + corner[1]
    inner, outer = (shapely.contains_xy(area, x, y) for area in (inside, band))
    if inner.sum() < 4 or outer.sum() < 8:
        return None
    return float(np.median(light[outer]) - np.median(light[inner]))


def outline_points(shape: Shape) -> np.ndarray:
    """Points (N, 2) round a mark, or along a line."""
    match shape:
        case Line(points) | Ring(points):
            return np.array(points, float)
        case Circle(x, y, radius):
            return _round(x, y, radius)
        case Point(x, y):
            return _round(x, y, POINT_RADIUS_PX)


def _round(x: float, y: float, radius: float) -> np.ndarray:
    turn = np.linspace(0, 2 * np.pi, 48, endpoint=False)
    return np.column_stack([x + radius * np.cos(turn), y + radius * np.sin(turn)])


def open_share(before: np.ndarray, after: np.ndarray) -> float | None:
    """Share of a line's length, 0..1, that is still at least half as dark as it was; None when it never was dark.

    before, after : depths of the line on either photo, any number of stations
    """
    was = float(np.median(before))
    if was < LEAST_DEPTH:
        return None
    there = np.interp(np.linspace(0, 1, len(after)), np.linspace(0, 1, len(before)), before)
    return float((after > np.maximum(0.5 * there, 0.5 * was)).mean())


def pairs_of(points: np.ndarray) -> tuple[Pair, ...]:
    return tuple((float(x), float(y)) for x, y in points)

"""Plane geometry on arrays: paths and rings in pixels made dense, mapped to millimetres, measured there."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from condition.errors import Refused
from condition.imaging.plane import to_mm
from condition.records.plane import PhotoPlane

DENSE_PX = 12.0
"""Longest step between points that are mapped: the lens bends a straight line less than 1e-3 px over it."""


def dense(points_px: np.ndarray, closed: bool, step_px: float = DENSE_PX) -> np.ndarray:
    """Points (M, 2) along a path or ring (N, 2), at most `step_px` apart, the given points among them."""
    points = np.vstack([points_px, points_px[:1]]) if closed else np.asarray(points_px, float)
    pieces = []
    for a, b in pairwise(points):
        count = max(1, int(np.ceil(np.hypot(*(b - a)) / step_px)))
        pieces.append(a + (b - a) * (np.arange(count) / count)[:, None])
    return np.vstack(pieces if closed else [*pieces, points[-1:]])


def seen_mm(points_px: np.ndarray, plane: PhotoPlane, parameters: np.ndarray | None = None) -> np.ndarray:
    """:func:`to_mm`, refusing points that show no part of the surface.

    Raises
    ------
    Refused
        A point lies beyond the surface's horizon.
    """
    found = to_mm(points_px, plane, parameters)
    if not np.isfinite(found).all():
        raise Refused("measure.beyond_horizon")
    return found


def path_length(points: np.ndarray) -> np.ndarray:
    """Length of paths (..., N, 2)."""
    return np.sqrt((np.diff(points, axis=-2) ** 2).sum(-1)).sum(-1)


def signed_area(points: np.ndarray) -> np.ndarray:
    """Shoelace area of rings (..., N, 2), taken about their middle so that far frames cost no digits."""
    about = points - points.mean(-2, keepdims=True)
    x, y = about[..., 0], about[..., 1]
    return (x * np.roll(y, -1, -1) - y * np.roll(x, -1, -1)).sum(-1) / 2


def local_maps(points_px: np.ndarray, plane: PhotoPlane) -> np.ndarray:
    """How a small step in pixels turns into mm at each point: (N, 2, 2), mm = map @ px."""
    points = np.asarray(points_px, float)
    columns = [(seen_mm(points + step, plane) - seen_mm(points - step, plane)) for step in ((0.5, 0.0), (0.0, 0.5))]
    return np.stack(columns, -1)


def vertex_length_standard(points_px: np.ndarray, plane: PhotoPlane, sd_px: float | np.ndarray) -> float:
    """Standard uncertainty of a path's length in mm from independent errors of its vertices (UN-34, UN-35)."""
    points = seen_mm(points_px, plane)
    runs = np.diff(points, axis=0)
    unit = runs / np.maximum(np.hypot(*runs.T), 1e-12)[:, None]
    pull = np.vstack([-unit[:1], unit[:-1] - unit[1:], unit[-1:]])
    slope = np.einsum("nij,ni->nj", local_maps(points_px, plane), pull)
    return float(np.sqrt(((slope**2).sum(1) * np.square(sd_px)).sum()))


def vertex_area_standard(ring_px: np.ndarray, plane: PhotoPlane, sd_px: float) -> float:
    """Standard uncertainty of a ring's area in mm2 from independent errors of its vertices (UN-20 to UN-26)."""
    points = seen_mm(ring_px, plane)
    across = (np.roll(points, -1, axis=0) - np.roll(points, 1, axis=0)) / 2
    pull = np.column_stack([across[:, 1], -across[:, 0]])
    slope = np.einsum("nij,ni->nj", local_maps(ring_px, plane), pull)
    return float(sd_px * np.sqrt((slope**2).sum()))

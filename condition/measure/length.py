"""Length along a path, and the distance between two marks."""

from __future__ import annotations

import numpy as np

from condition.measure.budget import measured, shared_parts
from condition.measure.geometry import dense, path_length, seen_mm, vertex_length_standard
from condition.measure.way import Way
from condition.records.measurement import Contribution, Measurement
from condition.records.plane import PhotoPlane
from condition.records.shapes import Line, Pair

METHOD = "path length 1"
PATH_SHARE = 0.003
"""Standard uncertainty of following a bent path, as a share of its length: traced paths differ from hand-made ones by
0.5 % in the median on photographs of cracks."""
SMOOTHING_PX = 3.0


def smoothed(points_px: np.ndarray, sd_px: float = SMOOTHING_PX) -> np.ndarray:
    """A traced path with its staircase taken out: Gaussian along the path, ends kept (mirrored through them)."""
    steps = np.hypot(*np.diff(points_px, axis=0).T)
    spacing = float(np.median(steps)) if len(steps) else 1.0
    reach = int(np.ceil(3 * sd_px / max(spacing, 1e-6)))
    reach = min(reach, len(points_px) - 1)
    if reach < 1:
        return points_px
    kernel = np.exp(-0.5 * (np.arange(-reach, reach + 1) * spacing / sd_px) ** 2)
    kernel /= kernel.sum()
    head = 2 * points_px[0] - points_px[reach:0:-1]
    tail = 2 * points_px[-1] - points_px[-2 : -reach - 2 : -1]
    long = np.vstack([head, points_px, tail])
    return np.column_stack([np.convolve(long[:, axis], kernel, "valid") for axis in (0, 1)])


def is_traced(points_px: np.ndarray) -> bool:
    """Whether a path is a chain of neighbouring pixels rather than clicked points."""
    steps = np.hypot(*np.diff(points_px, axis=0).T)
    return len(points_px) > 20 and float(np.median(steps)) <= 2.5


def length_of(line_px: Line, plane: PhotoPlane, way: Way, photo_id: str | None = None) -> Measurement:
    """Length along a path on the measured surface, in mm.

    Raises
    ------
    Refused
        Part of the path lies beyond the surface's horizon.
    """
    points = np.array(line_px.points, float)
    traced = is_traced(points)
    path = smoothed(points) if traced else points
    fine = dense(path, closed=False)
    value, parts = shared_parts(lambda p: path_length(seen_mm(fine, plane, p)), plane)
    own = [Contribution("pick", vertex_length_standard(path[[0, -1]] if traced else path, plane, way.pick_sd_px))]
    if len(points) > 2:
        own.append(Contribution("path", PATH_SHARE * value))
    return measured("length", value, "mm", (*parts, *own), photo_id, METHOD)


def distance_between(
    first_px: Pair, second_px: Pair, plane: PhotoPlane, way: Way, photo_id: str | None = None
) -> Measurement:
    """Straight distance of two points on the measured surface, in mm."""
    ends = np.array([first_px, second_px], float)
    value, parts = shared_parts(lambda p: path_length(seen_mm(ends, plane, p)), plane)
    own = Contribution("pick", vertex_length_standard(ends, plane, way.pick_sd_px))
    return measured("distance", value, "mm", (*parts, own), photo_id, METHOD)

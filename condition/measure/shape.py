"""What is measured on a mark: by its shape and the kind of finding."""

from __future__ import annotations

import math

import numpy as np

from condition.imaging.cross_section import cross_section
from condition.imaging.rim import find_rim
from condition.imaging.softness import edge_softness
from condition.measure.area import area_of, groove_of, loops_of
from condition.measure.diameter import diameter_of, drawn_rim
from condition.measure.length import is_traced, length_of, smoothed
from condition.measure.way import BY_HAND, Way
from condition.measure.width import widths_of
from condition.records.measurement import Measurement
from condition.records.plane import PhotoPlane
from condition.records.shapes import Circle, Line, Point, Ring, Shape

OPENINGS = ("crack", "open seam", "lifted")
HOLES = ("screw hole", "enlarged hole", "filled hole")
BORED = (*HOLES, "added rout")
"""Kinds whose circle is looked for in the photo."""
GROOVES = ("wear groove",)
SOFT_EDGED = ("finish loss", "finish checking", "refinish", "stain", "corrosion", "chip", "dent", "other")
"""Areas whose edge is looked at in the photo for how sharply it ends."""


def measure_shape(
    kind: str,
    shape_px: Shape,
    plane: PhotoPlane,
    way: Way = BY_HAND,
    rgb: np.ndarray | None = None,
    photo_id: str | None = None,
) -> tuple[Measurement, ...]:
    """Measure one mark on the surface of its photo.

    Parameters
    ----------
    kind : kind of finding; cracks and seams are also measured across, holes by their rim, grooves as slots
    rgb : upright photo, uint8 (H, W, 3), to look for edges; without it the drawn shape alone speaks

    Returns
    -------
    Nothing for a point. The shape decides what is measured, the kind what more.

    Raises
    ------
    Refused
        The shape runs beyond the surface's horizon or encloses nothing.
    """
    match shape_px:
        case Point():
            return ()
        case Line():
            return _line(kind, shape_px, plane, way, rgb, photo_id)
        case Circle():
            return _circle(kind, shape_px, plane, way, rgb, photo_id)
        case Ring():
            return _ring(kind, shape_px, plane, way, rgb, photo_id)


def _line(kind, line_px, plane, way, rgb, photo_id) -> tuple[Measurement, ...]:
    length = length_of(line_px, plane, way, photo_id)
    if kind not in OPENINGS or rgb is None:
        return (length,)
    points = np.array(line_px.points, float)
    path = smoothed(points) if is_traced(points) else points
    seen = cross_section(rgb, path)
    return (length,) if seen is None else (length, *widths_of(path, seen, plane, photo_id))


def _circle(kind, circle_px, plane, way, rgb, photo_id) -> tuple[Measurement, ...]:
    if len(circle_px.rim) >= 8:
        return diameter_of(np.array(circle_px.rim), plane, way, photo_id, fitted=True)
    rim = find_rim(rgb, circle_px.x, circle_px.y, circle_px.radius) if rgb is not None and kind in BORED else None
    if rim is not None:
        return diameter_of(rim.points_px, plane, way, photo_id, edge_sd_px=rim.edge_sd_px, fitted=True)
    return diameter_of(drawn_rim(circle_px), plane, way, photo_id)


def _ring(kind, ring_px, plane, way, rgb, photo_id) -> tuple[Measurement, ...]:
    if kind in GROOVES:
        return groove_of(ring_px, plane, way, photo_id)
    if kind in HOLES and len(loops_of(ring_px)) == 1 and len(ring_px.points) >= 8:
        return diameter_of(np.array(ring_px.points), plane, way, photo_id, fitted=True)
    soft = None
    if rgb is not None and kind in SOFT_EDGED:
        soft = edge_softness(rgb, np.array(ring_px.points))
    if soft is not None:
        soft = math.hypot(soft, way.edge_sd_px)
    return (area_of(ring_px, plane, way, photo_id, soft),)

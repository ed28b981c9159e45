"""A finding cut out of its photo: the mark outlined thinly, with a scale bar from the photo's plane."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely import LineString

from condition.records.photo import Photo
from condition.records.shapes import Circle, Line, Point, Ring, Shape
from condition.records.sheet import FindingEntry
from condition.report.drawing import Disc, Path, Primitive, Stroke
from condition.report.map import scale_bar
from condition.report.map_plan import extent, moved

LEAST_MM = 12.0
"""Least width of what is shown, so that a small hole is seen with its surroundings."""

LEAST_PX = 120.0
_AROUND = 0.3
_BESIDE_MM = 0.9
"""On paper, from a line to the outline around it: the crack itself stays in sight."""

_LIGHT, _DARK = "#FFFFFF", "#111111"


@dataclass(frozen=True, slots=True)
class CloseUp:
    """Part of a photo; ``box_px`` is (left, top, right, bottom), ``mm_per_px`` 0 where there is no scale."""

    photo: Photo
    box_px: tuple[int, int, int, int]
    shapes_px: tuple[Shape, ...]
    mm_per_px: float

    @property
    def width_px(self) -> int:
        return self.box_px[2] - self.box_px[0]

    @property
    def height_px(self) -> int:
        return self.box_px[3] - self.box_px[1]


def close_ups(entry: FindingEntry, photos: Sequence[Photo], aspect: float, most: int = 2) -> tuple[CloseUp, ...]:
    """Return one close-up a photo that holds marks of the finding, at most ``most``, those with a scale first.

    Parameters
    ----------
    aspect : height to width of the picture wanted
    """
    found = []
    for photo in photos:
        shapes = tuple(marked.mark.shape_px for marked in entry.marks if marked.mark.photo_id == photo.id)
        if shapes:
            found.append(_close_up(photo, shapes, aspect))
    found.sort(key=lambda one: one.mm_per_px == 0)
    return tuple(found[:most])


def _close_up(photo: Photo, shapes: tuple[Shape, ...], aspect: float) -> CloseUp:
    left, top, right, bottom = extent(shapes)
    centre = ((left + right) / 2, (top + bottom) / 2)
    scale = _mm_per_px(photo, centre)
    least = max(LEAST_PX, LEAST_MM / scale if scale else 0.0)
    width = max((right - left) * (1 + 2 * _AROUND), (bottom - top) * (1 + 2 * _AROUND) / aspect, least)
    width = min(width, photo.width)
    height = min(width * aspect, photo.height)
    x = min(max(centre[0] - width / 2, 0.0), photo.width - width)
    y = min(max(centre[1] - height / 2, 0.0), photo.height - height)
    box = (int(x), int(y), min(photo.width, int(x + width) + 1), min(photo.height, int(y + height) + 1))
    return CloseUp(photo, box, shapes, scale)


def _mm_per_px(photo: Photo, at_px: tuple[float, float]) -> float:
    """Return the scale at a place of the photo; the plane's mean where its parameters say nothing there."""
    if photo.plane is None:
        return 0.0
    if photo.plane.parameters:
        from condition.imaging.plane import mm_per_px_at

        local = float(mm_per_px_at(np.array([at_px]), photo.plane)[0])
        if np.isfinite(local) and local > 0:
            return local
    return photo.plane.mm_per_px


def draw_close_up(one: CloseUp, width_mm: float) -> list[Primitive]:
    """Draw the marks and the scale bar over the picture, in mm from its top left corner."""
    scale = width_mm / one.width_px
    height_mm = one.height_px * scale
    drawn: list[Primitive] = []
    for shape in one.shapes_px:
        drawn += _outlined(moved(shape, one.box_px[0], one.box_px[1], scale, 0.0, 0.0))
    if one.mm_per_px:
        drawn += scale_bar(0.0, height_mm + 2.2, scale / one.mm_per_px, width_mm * 0.5)
    return drawn


def _outlined(shape: Shape) -> list[Primitive]:
    """A light line within a dark one is seen on any wood."""
    strokes = (Stroke(_DARK, 0.34), Stroke(_LIGHT, 0.16))
    match shape:
        case Point(x, y):
            cross = (
                ((x - 2, y), (x - 0.8, y)),
                ((x + 0.8, y), (x + 2, y)),
                ((x, y - 2), (x, y - 0.8)),
                ((x, y + 0.8), (x, y + 2)),
            )
            return [Path(cross, False, stroke) for stroke in strokes]
        case Circle(x, y, radius):
            return [Disc(x, y, radius, stroke) for stroke in strokes]
        case Line(points):
            around = LineString(points).buffer(_BESIDE_MM, quad_segs=4)
            loops = (tuple(around.exterior.coords), *(tuple(hole.coords) for hole in around.interiors))
            return [Path(loops, True, stroke) for stroke in strokes]
        case Ring(points, holes):
            return [Path((points, *holes), True, stroke) for stroke in strokes]

"""Whether a mark on one photo shows what is marked on another photo of the face already."""

from __future__ import annotations

from collections.abc import Sequence

from condition.records.shapes import Circle, Line, Point, Ring, Shape

REACH_MM = 3.0
"""Two marks of one thing, drawn by hand on two photos that are placed to within a millimetre, lie no further apart."""
SHARE = 0.6
"""Of a line or an area that must lie within reach of the earlier marks."""


def seen_again(shape_mm: Shape, earlier_mm: Sequence[Shape]) -> bool:
    """Tell whether most of a shape lies within reach of earlier ones, all in the millimetres of one face."""
    from shapely import unary_union

    if not earlier_mm:
        return False
    near = unary_union([_solid(shape).buffer(REACH_MM) for shape in earlier_mm])
    one = _solid(shape_mm)
    whole, within = (part.area or part.length for part in (one, one.intersection(near)))
    return within >= SHARE * whole if whole else bool(one.intersects(near))


def _solid(shape: Shape):
    from shapely.geometry import LineString, Polygon
    from shapely.geometry import Point as Place

    match shape:
        case Point(x, y):
            return Place(x, y)
        case Circle(x, y, radius):
            return Place(x, y).buffer(radius)
        case Line(points):
            return LineString(points)
        case Ring(points, holes):
            return Polygon(points, holes).buffer(0)

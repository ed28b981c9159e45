"""Rings cut apart along a line and joined into one, exactly; the pages store what comes of it as ordinary changes."""

from __future__ import annotations

from shapely import make_valid
from shapely.geometry import LineString, MultiPolygon, Polygon
from shapely.ops import split, unary_union

from condition.errors import Refused
from condition.records.shapes import Pair, Ring


def split_ring(ring: Ring, line: tuple[Pair, ...]) -> tuple[Ring, ...]:
    """Return the parts that a line drawn across leaves of a ring, the largest first; holes stay holes.

    Raises
    ------
    Refused
        ``canvas.line_not_across``: the line leaves it in one piece.
    """
    cut = LineString(line)
    parts = [part for whole in _areas(ring) for part in split(whole, cut).geoms]
    if len(parts) <= len(_areas(ring)):
        raise Refused("canvas.line_not_across")
    return tuple(_ring(part) for part in sorted(parts, key=lambda part: -part.area))


def joined_rings(one: Ring, other: Ring) -> Ring:
    """Return the ring of all that lies in either; what is open in both stays a hole.

    Raises
    ------
    Refused
        ``canvas.rings_apart``: they share neither area nor a piece of their edge.
    """
    whole = unary_union([*_areas(one), *_areas(other)])
    if isinstance(whole, MultiPolygon):
        raise Refused("canvas.rings_apart")
    return _ring(whole)


def _areas(ring: Ring) -> list[Polygon]:
    """A ring that crosses itself counts as the areas it encloses."""
    area = Polygon(ring.points, ring.holes)
    if area.is_valid:
        return [area]
    return [part for part in getattr(make_valid(area), "geoms", [make_valid(area)]) if isinstance(part, Polygon)]


def _ring(area: Polygon) -> Ring:
    outer, *holes = (
        tuple((float(x), float(y)) for x, y in loop.coords[:-1]) for loop in (area.exterior, *area.interiors)
    )
    return Ring(outer, tuple(holes))

"""Hatching as plain lines, so that it prints and greys the same everywhere."""

from __future__ import annotations

import math

from shapely import LineString, MultiLineString, Polygon, make_valid
from shapely.geometry.base import BaseGeometry

from condition.records.shapes import Pair, Ring


def area_of(ring: Ring) -> BaseGeometry:
    """Return the ring as a valid area (a bow-tie becomes its two halves)."""
    return make_valid(Polygon(ring.points, ring.holes))


def hatch(ring: Ring, angle_degrees: float, spacing: float) -> tuple[tuple[Pair, ...], ...]:
    """Return parallel lines ``spacing`` apart, clipped to the ring; 0° runs along x, positive turns towards -y."""
    area = area_of(ring)
    if area.is_empty:
        return ()
    left, top, right, bottom = area.bounds
    reach = math.hypot(right - left, bottom - top)
    along = (math.cos(math.radians(angle_degrees)), -math.sin(math.radians(angle_degrees)))
    across = (-along[1], along[0])
    centre = ((left + right) / 2, (top + bottom) / 2)
    offset = centre[0] * across[0] + centre[1] * across[1]
    first, last = math.ceil((offset - reach / 2) / spacing), math.floor((offset + reach / 2) / spacing)
    lines = []
    for k in range(first, last + 1):
        shift = k * spacing - offset
        x, y = centre[0] + shift * across[0], centre[1] + shift * across[1]
        lines.append(
            LineString([(x - reach * along[0], y - reach * along[1]), (x + reach * along[0], y + reach * along[1])])
        )
    cut = MultiLineString(lines).intersection(area)
    pieces = getattr(cut, "geoms", [cut])
    return tuple(tuple(piece.coords) for piece in pieces if isinstance(piece, LineString) and not piece.is_empty)

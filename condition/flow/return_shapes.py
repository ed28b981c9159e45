"""The shape of a changed place: its two sides, and whether it is one compact thing."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry


def sides_of(area: BaseGeometry) -> tuple[float, float]:
    """Return the shorter and the longer side of the smallest rectangle round an area that is not empty."""
    corners = np.array(area.minimum_rotated_rectangle.exterior.coords)[:3]
    shorter, longer = sorted(map(float, np.hypot(*np.diff(corners, axis=0).T)))
    return shorter, longer


def is_compact(area: BaseGeometry, least_round: float, least_solid: float) -> bool:
    """Whether an area is about as long as wide and in one piece.

    least_round : shorter over longer side; least_solid : share of its convex hull that it fills
    """
    shorter, longer = sides_of(area)
    return shorter >= least_round * longer and area.area >= least_solid * area.convex_hull.area

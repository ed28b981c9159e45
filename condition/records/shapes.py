"""Point, Circle, Line, Ring: plain shapes in upright-photo pixels or in millimetres.

The numbers carry no unit of their own; names that hold a shape end in ``_px`` or ``_mm``. Pixels are those of the
upright photo, x right, y down, with (0, 0) at the outer corner of the top-left pixel.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import chain

from condition.errors import InvalidRecord

Pair = tuple[float, float]


def _finite(name: str, points: tuple[Pair, ...]) -> None:
    if not all(len(p) == 2 and math.isfinite(p[0]) and math.isfinite(p[1]) for p in points):
        raise InvalidRecord(name, "coordinates must be finite pairs")


@dataclass(frozen=True, slots=True)
class Point:
    x: float
    y: float

    def __post_init__(self) -> None:
        _finite("point", (self.xy,))

    @property
    def xy(self) -> Pair:
        return (self.x, self.y)


@dataclass(frozen=True, slots=True)
class Circle:
    """Centre and radius in the unit of its frame; ``rim`` holds the points it was fitted to, if any."""

    x: float
    y: float
    radius: float
    rim: tuple[Pair, ...] = ()

    def __post_init__(self) -> None:
        _finite("circle", ((self.x, self.y), *self.rim))
        if not (math.isfinite(self.radius) and self.radius > 0):
            raise InvalidRecord("circle", f"radius {self.radius}")


@dataclass(frozen=True, slots=True)
class Line:
    """An open path through two or more points."""

    points: tuple[Pair, ...]

    def __post_init__(self) -> None:
        _finite("line", self.points)
        if len(self.points) < 2:
            raise InvalidRecord("line", "a line needs two points")


@dataclass(frozen=True, slots=True)
class Ring:
    """A closed polygon (the first point is not repeated), with holes."""

    points: tuple[Pair, ...]
    holes: tuple[tuple[Pair, ...], ...] = ()

    def __post_init__(self) -> None:
        _finite("ring", (*self.points, *chain.from_iterable(self.holes)))
        if any(len(loop) < 3 for loop in (self.points, *self.holes)):
            raise InvalidRecord("ring", "a ring needs three points")


Shape = Point | Circle | Line | Ring


def shape_to_dict(shape: Shape) -> dict:
    """Return the shape as JSON-ready values, tagged with its name."""
    match shape:
        case Point(x, y):
            return {"shape": "point", "x": x, "y": y}
        case Circle(x, y, radius, rim):
            return {"shape": "circle", "x": x, "y": y, "radius": radius, "rim": [list(p) for p in rim]}
        case Line(points):
            return {"shape": "line", "points": [list(p) for p in points]}
        case Ring(points, holes):
            return {
                "shape": "ring",
                "points": [list(p) for p in points],
                "holes": [[list(p) for p in hole] for hole in holes],
            }


def shape_from_dict(values: dict) -> Shape:
    """Build the shape that :func:`shape_to_dict` wrote.

    Raises
    ------
    InvalidRecord
        The values name no shape, or not one that can exist.
    """
    try:
        match values["shape"]:
            case "point":
                return Point(float(values["x"]), float(values["y"]))
            case "circle":
                return Circle(
                    float(values["x"]),
                    float(values["y"]),
                    float(values["radius"]),
                    _pairs(values.get("rim", ())),
                )
            case "line":
                return Line(_pairs(values["points"]))
            case "ring":
                return Ring(_pairs(values["points"]), tuple(_pairs(hole) for hole in values.get("holes", ())))
    except (KeyError, TypeError, ValueError) as error:
        if isinstance(error, InvalidRecord):
            raise
        raise InvalidRecord("shape", f"{type(error).__name__}: {error}") from error
    raise InvalidRecord("shape", f"unknown shape {values['shape']!r}")


def _pairs(points: object) -> tuple[Pair, ...]:
    return tuple((float(x), float(y)) for x, y in points)

"""One shape as a small ``<svg>``, and back: the value of an SvgSelector.

The canvas is the upright photo: ``viewBox="0 0 W H"`` in its pixels when written; a foreign viewBox is scaled to the
photo when read. Source: W3C Web Annotation Data Model, 4.2.7 (SVG Selector).
"""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator

from condition.errors import Refused
from condition.records.shapes import Circle, Line, Pair, Point, Ring, Shape
from condition.report.svg_path import PathError, Subpath, flatten

MOST_CHARACTERS = 4_000_000
"""Longest selector that is read; a traced crack of 10 000 vertices takes about 150 000."""

MOST_HOLES = 500

FLATTENING_PX = 0.02
"""Largest distance between a curve and the polyline it becomes: well under a pick's uncertainty."""

_SVG = "{http://www.w3.org/2000/svg}"
_SHAPES = ("circle", "ellipse", "rect", "line", "polyline", "polygon", "path")
_GROUPS = ("svg", "g", "a", "switch")
_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")
_BETWEEN = re.compile(r"[\s,]*")


def write_svg(shape_px: Shape, width: float, height: float) -> str:
    """Return the ``<svg>`` that holds one shape; a point is a circle of radius 0, a ring with holes a path."""
    match shape_px:
        case Point(x, y):
            body = f'<circle cx="{_text(x)}" cy="{_text(y)}" r="0"/>'
        case Circle(x, y, radius):
            body = f'<circle cx="{_text(x)}" cy="{_text(y)}" r="{_text(radius)}"/>'
        case Line(points):
            body = f'<polyline points="{_list(points)}"/>'
        case Ring(points, ()):
            body = f'<polygon points="{_list(points)}"/>'
        case Ring(points, holes):
            loops = " ".join(f"M {_list(loop)} Z" for loop in (points, *holes))
            body = f'<path fill-rule="evenodd" d="{loops}"/>'
    box = f"0 0 {_text(width)} {_text(height)}"
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}">{body}</svg>'


def read_svg(text: str, size_px: tuple[float, float] | None) -> Shape:
    """Return the one shape of an ``<svg>`` in upright pixels.

    Parameters
    ----------
    size_px : (width, height) of the upright photo; None takes the svg's own units for pixels

    Raises
    ------
    Refused
        Not well-formed, too long, with a document type or entities, no shape or more than one, or a shape that
        cannot be.
    """
    root = _parsed(text)
    shapes = list(_shapes(root))
    if len(shapes) != 1:
        raise Refused("annotations.one_shape", count=len(shapes))
    box = _view_box(root)
    left, top, sx, sy = _scaling(box, size_px)
    try:
        shape = _shape(shapes[0], FLATTENING_PX / max(sx, sy), ((left, top), (sx, sy)))
    except (PathError, ValueError) as error:
        raise Refused("annotations.bad_shape", why=str(error)) from error
    return shape


def _text(number: float) -> str:
    return f"{number:.4f}".rstrip("0").rstrip(".") or "0"


def _list(points: tuple[Pair, ...]) -> str:
    return " ".join(f"{_text(x)},{_text(y)}" for x, y in points)


def _parsed(text: str) -> ET.Element:
    if len(text) > MOST_CHARACTERS:
        raise Refused("annotations.svg_too_long", most=MOST_CHARACTERS)
    _refuse_declarations(text)
    try:
        root = ET.fromstring(text)
    except (ET.ParseError, ValueError, LookupError) as error:
        raise Refused("annotations.svg_broken", why=str(error)) from error
    if _name(root) != "svg":
        raise Refused("annotations.svg_broken", why=f"<{_name(root)}>")
    return root


def _refuse_declarations(text: str) -> None:
    """Refuse DOCTYPE, ENTITY and CDATA before any parser sees them; comments may pass."""
    at = text.find("<!")
    while at >= 0:
        if not text.startswith("<!--", at):
            raise Refused("annotations.svg_doctype")
        end = text.find("-->", at + 4)
        if end < 0:
            raise Refused("annotations.svg_broken", why="<!--")
        at = text.find("<!", end)


def _name(element: ET.Element) -> str:
    tag = element.tag if isinstance(element.tag, str) else ""
    return tag.removeprefix(_SVG)


def _shapes(root: ET.Element) -> Iterator[ET.Element]:
    waiting = [root]
    while waiting:
        element = waiting.pop()
        name = _name(element)
        if name in _SHAPES or name in _GROUPS:
            if element.get("transform"):
                raise Refused("annotations.transform")
            if name == "svg" and element is not root:
                raise Refused("annotations.transform")
        if name in _SHAPES:
            yield element
        elif name in _GROUPS:
            waiting.extend(element)


def _numbers(text: str) -> list[float]:
    numbers, at = [], _BETWEEN.match(text).end()
    while at < len(text):
        found = _NUMBER.match(text, at)
        if not found or not math.isfinite(float(found.group())):
            raise ValueError(f"no number at {text[at : at + 12]!r}")
        numbers.append(float(found.group()))
        at = _BETWEEN.match(text, found.end()).end()
    return numbers


def _number(element: ET.Element, name: str, absent: float | None = 0.0) -> float | None:
    text = (element.get(name) or "").strip()
    if not text:
        return absent
    values = _numbers(text.removesuffix("px"))
    if len(values) != 1:
        raise ValueError(f"{name}={text[:20]!r}")
    return values[0]


def _view_box(root: ET.Element) -> tuple[float, float, float, float] | None:
    try:
        if root.get("viewBox"):
            left, top, width, height = _numbers(root.get("viewBox"))
        else:
            left = top = 0.0
            width, height = _number(root, "width", None), _number(root, "height", None)
            if width is None or height is None:
                return None
    except ValueError:
        if not root.get("viewBox"):
            return None
        raise Refused("annotations.view_box", box=root.get("viewBox")[:60]) from None
    if not (width > 0 and height > 0):
        raise Refused("annotations.view_box", box=f"{left:g} {top:g} {width:g} {height:g}")
    return left, top, width, height


def _scaling(
    box: tuple[float, float, float, float] | None, size_px: tuple[float, float] | None
) -> tuple[float, float, float, float]:
    if box is None:
        return 0.0, 0.0, 1.0, 1.0
    left, top, width, height = box
    if size_px is None:
        return left, top, 1.0, 1.0
    if (width, height) == (size_px[1], size_px[0]) and width != height:
        raise Refused(
            "annotations.not_upright",
            drawn=f"{width:g} × {height:g}",
            photo=f"{size_px[0]:g} × {size_px[1]:g}",
        )
    return left, top, size_px[0] / width, size_px[1] / height


_Frame = tuple[Pair, Pair]


def _placed(points: list[Pair] | tuple[Pair, ...], frame: _Frame) -> tuple[Pair, ...]:
    (left, top), (sx, sy) = frame
    placed: list[Pair] = []
    for x, y in points:
        point = ((x - left) * sx, (y - top) * sy)
        if not placed or placed[-1] != point:
            placed.append(point)
    return tuple(placed)


def _closed(points: list[Pair] | tuple[Pair, ...], frame: _Frame) -> tuple[Pair, ...]:
    placed = _placed(points, frame)
    return placed[:-1] if len(placed) > 1 and placed[0] == placed[-1] else placed


def _shape(element: ET.Element, tolerance: float, frame: _Frame) -> Shape:
    match _name(element):
        case "circle":
            x, y, r = (_number(element, name) for name in ("cx", "cy", "r"))
            return _round(x, y, r, r, tolerance, frame)
        case "ellipse":
            x, y, rx, ry = (_number(element, name) for name in ("cx", "cy", "rx", "ry"))
            return _round(x, y, rx, ry, tolerance, frame)
        case "rect":
            x, y, w, h = (_number(element, name) for name in ("x", "y", "width", "height"))
            return Ring(_closed([(x, y), (x + w, y), (x + w, y + h), (x, y + h)], frame))
        case "line":
            x1, y1, x2, y2 = (_number(element, name) for name in ("x1", "y1", "x2", "y2"))
            return Line(_placed([(x1, y1), (x2, y2)], frame))
        case "polyline":
            return Line(_placed(_points(element), frame))
        case "polygon":
            return Ring(_closed(_points(element), frame))
        case _:
            return _from_path(flatten(element.get("d") or "", tolerance), frame)


def _points(element: ET.Element) -> list[Pair]:
    numbers = _numbers(element.get("points") or "")
    if len(numbers) % 2:
        raise ValueError("points")
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def _round(x: float, y: float, rx: float, ry: float, tolerance: float, frame: _Frame) -> Shape:
    (left, top), (sx, sy) = frame
    cx, cy, rx_px, ry_px = (x - left) * sx, (y - top) * sy, rx * sx, ry * sy
    if rx_px < 0 or ry_px < 0:
        raise ValueError("radius")
    if rx_px == 0 or ry_px == 0:
        return Point(cx, cy)
    if math.isclose(rx_px, ry_px, rel_tol=1e-3):
        return Circle(cx, cy, math.sqrt(rx_px * ry_px))
    half = f"a {rx!r} {ry!r} 0 1 0"
    outline = flatten(f"M {x - rx!r} {y!r} {half} {2 * rx!r} 0 {half} {-2 * rx!r} 0 Z", tolerance)
    return _from_path(outline, frame)


def _from_path(subpaths: tuple[Subpath, ...], frame: _Frame) -> Shape:
    if len(subpaths) == 1 and not subpaths[0].closed:
        return Line(_placed(subpaths[0].points, frame))
    if not subpaths or not all(path.closed for path in subpaths):
        raise ValueError("open subpaths")
    loops = [_closed(path.points, frame) for path in subpaths]
    outer = max(range(len(loops)), key=lambda k: abs(_area(loops[k])))
    ring = Ring(loops.pop(outer), tuple(loops))
    _check_holes(ring)
    return ring


def _area(loop: tuple[Pair, ...]) -> float:
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(loop, loop[1:] + loop[:1], strict=True)) / 2


def _check_holes(ring: Ring) -> None:
    """Refuse two separate areas, or an island in a hole: each is a mark of its own."""
    if not ring.holes:
        return
    if len(ring.holes) > MOST_HOLES:
        raise ValueError(f"{len(ring.holes)} holes")
    from shapely import Polygon, make_valid

    outer = make_valid(Polygon(ring.points)).buffer(2 * FLATTENING_PX)
    holes = [make_valid(Polygon(hole)) for hole in ring.holes]
    if not all(outer.covers(hole) for hole in holes):
        raise Refused("annotations.separate_areas")
    for k, hole in enumerate(holes):
        if any(hole.intersection(other).area > FLATTENING_PX for other in holes[:k]):
            raise Refused("annotations.separate_areas")

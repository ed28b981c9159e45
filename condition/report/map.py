"""The condition map: numbered findings in vectors on the instrument's outline, or over its photo.

One drawing serves the PDF and the page: primitives in millimetres on paper (:mod:`condition.report.drawing`).
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from condition.records.legend import INK, KINDS, MUTED
from condition.records.shapes import Circle, Line, Pair, Point, Ring, Shape
from condition.records.sheet import FindingEntry, ViewEntry
from condition.report.callouts import Callout, capacity, place
from condition.report.drawing import Disc, Path, Primitive, Stroke, Text, svg_of
from condition.report.hatch import area_of, hatch
from condition.report.map_plan import MapSheet, Placed, extent, moved, on_face
from condition.report.symbols import kind_symbol
from condition.words import say

LABEL_MM = 2.7
"""Radius of a number's disc."""

PITCH_MM = 6.2
GUTTER_MM = 12.0
"""From the drawing's edge to a column of numbers."""

EDGE_MM = 0.5
"""Above and below the drawing, so that no line is cut."""

BAND_MM = 11.0
"""Below the drawing: scale bar and orientation."""

_SURFACE = "#F7F7F3"
_PAPER = "#FFFFFF"
_RATIOS = (1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0)


@dataclass(frozen=True, slots=True)
class MapDrawing:
    """A drawn map.

    under_photo : what lies over the photo (all, where there is no photo)
    photo_box : (left, top, width, height) of the photo in mm, None for an outline
    ratio : paper to object, 2.5 for 1 : 2.5; None for a photo
    height_mm : height that was used
    """

    primitives: tuple[Primitive, ...]
    photo_box: tuple[float, float, float, float] | None
    ratio: float | None
    height_mm: float


def most_findings(height_mm: float) -> int:
    """Return how many numbers a map of that height holds in its two margins."""
    return capacity(LABEL_MM, height_mm - BAND_MM - LABEL_MM, PITCH_MM)


def draw_map(sheet: MapSheet, width_mm: float, height_mm: float) -> MapDrawing:
    """Draw a sheet into a box of that size; the drawing is centred and as large as a plain ratio lets it be."""
    left, top, right, bottom = _bounds(sheet)
    room_x = width_mm - 2 * (GUTTER_MM + 2 * LABEL_MM)
    room_y = height_mm - BAND_MM - 2 * EDGE_MM
    scale = min(room_x / (right - left), room_y / (bottom - top))
    ratio = None
    if sheet.outline_mm:
        ratio = next((r for r in _RATIOS if 1 / r <= scale * 1.0001), 1 / scale)
        scale = 1 / ratio
    drawn_x, drawn_y = (right - left) * scale, (bottom - top) * scale
    dx = (width_mm - drawn_x) / 2
    used_y = max(drawn_y + 2 * EDGE_MM, _column_height(len(sheet.placed)))
    dy = (used_y - drawn_y) / 2

    def on_paper(shape: Shape) -> Shape:
        return moved(shape, left, top, scale, dx, dy)

    placed = tuple(
        Placed(item.finding, tuple(map(on_paper, item.shapes)), tuple(map(on_paper, item.again)))
        for item in sheet.placed
    )
    primitives: list[Primitive] = []
    photo_box = None
    if sheet.outline_mm:
        primitives += _outline(on_paper(sheet.outline_mm))
    else:
        photo_box = (dx, dy, drawn_x, drawn_y)
    for item in placed:
        for shape in item.again:
            primitives += thin_mark(shape, item.finding.kind)
        for shape in item.shapes:
            primitives += mark(shape, item.finding.kind)
    columns = (dx - GUTTER_MM, dx + drawn_x + GUTTER_MM)
    primitives += _numbers(placed, columns, (LABEL_MM, used_y - LABEL_MM))
    primitives += _band(sheet, dx, dx + drawn_x, used_y + 5.0, scale)
    return MapDrawing(tuple(primitives), photo_box, ratio, used_y + BAND_MM)


def map_svg(view_entry: ViewEntry, findings: Sequence[FindingEntry], width_px: float) -> str:
    """Return the face's condition map as SVG text; empty when the face has no outline yet.

    Parameters
    ----------
    findings : all of the job; those placed on this face are drawn
    width_px : width of the picture on the screen, CSS pixels
    """
    if view_entry.outline_mm is None:
        return ""
    sheet = MapSheet(view_entry.view, None, view_entry.outline_mm, on_face(view_entry, findings))
    left, top, right, bottom = _bounds(sheet)
    width = 150.0
    room_x = width - 2 * (GUTTER_MM + 2 * LABEL_MM)
    drawn_y = (bottom - top) * room_x / (right - left) + 2 * EDGE_MM
    height = max(drawn_y, _column_height(len(sheet.placed))) + BAND_MM
    drawing = draw_map(sheet, width, height)
    return svg_of(drawing.primitives, width, drawing.height_mm, width_px, view_entry.view.name)


def _bounds(sheet: MapSheet) -> tuple[float, float, float, float]:
    if sheet.outline_mm is None:
        return 0.0, 0.0, float(sheet.photo.width), float(sheet.photo.height)
    return extent([sheet.outline_mm, *(shape for item in sheet.placed for shape in item.shapes)])


def _column_height(count: int) -> float:
    return 2 * LABEL_MM + max(0, math.ceil(count / 2) - 1) * PITCH_MM


def _outline(ring: Ring) -> list[Primitive]:
    return [Path((ring.points, *ring.holes), True, Stroke(INK, 0.3), _SURFACE)]


def mark(shape: Shape, kind: str) -> list[Primitive]:
    """Draw one mark, already in mm on paper, in its kind's line, hatch and symbol."""
    sign = KINDS[kind]
    width = 0.32
    stroke = Stroke(sign.colour, width, tuple(length * width for length in sign.dash))
    match shape:
        case Point(x, y):
            return [Disc(x, y, 1.5, None, _PAPER), *kind_symbol(kind, x, y, 1.15)]
        case Circle(x, y, radius) if radius < 0.9:
            return [Disc(x, y, max(radius, 0.25), Stroke(sign.colour, 0.2))]
        case Circle(x, y, radius):
            return [Disc(x, y, radius, stroke), *kind_symbol(kind, x, y, 0.8)]
        case Line(points):
            return [Path((points,), False, Stroke(_PAPER, width + 0.5)), Path((points,), False, stroke)]
        case Ring(points, holes):
            lines = [Path(cut, False, Stroke(sign.colour, 0.13)) for a, s in sign.hatch if (cut := hatch(shape, a, s))]
            return [*lines, Path((points, *holes), True, stroke)]


def thin_mark(shape: Shape, kind: str) -> list[Primitive]:
    """Draw what another photo shows of a mark that is drawn already: a hairline, without hatch or symbol."""
    stroke = Stroke(KINDS[kind].colour, 0.1)
    match shape:
        case Point(x, y):
            return [Disc(x, y, 0.5, stroke)]
        case Circle(x, y, radius):
            return [Disc(x, y, max(radius, 0.25), stroke)]
        case Line(points):
            return [Path((points,), False, stroke)]
        case Ring(points, holes):
            return [Path((points, *holes), True, stroke)]


def anchor(shape: Shape) -> Pair:
    """Return the point of a shape that its leader goes to: on the line, inside the ring."""
    match shape:
        case Point(x, y) | Circle(x, y):
            return (x, y)
        case Line(points):
            return _halfway(points)
        case Ring():
            inside = area_of(shape).representative_point()
            return (inside.x, inside.y)


def _halfway(points: tuple[Pair, ...]) -> Pair:
    lengths = [math.dist(a, b) for a, b in itertools.pairwise(points)]
    left = sum(lengths) / 2
    for (a, b), length in zip(itertools.pairwise(points), lengths, strict=True):
        if left <= length and length > 0:
            return (a[0] + (b[0] - a[0]) * left / length, a[1] + (b[1] - a[1]) * left / length)
        left -= length
    return points[-1]


def _clear(shape: Shape) -> float:
    """Return how far from its anchor a leader stops, so that it does not cover the mark."""
    match shape:
        case Point():
            return 1.5
        case Circle(radius=radius):
            return max(radius, 0.25) if radius >= 0.9 else radius
        case _:
            return 0.0


def _numbers(placed: Sequence[Placed], columns: Pair, rows: Pair) -> list[Primitive]:
    anchors = [[anchor(shape) for shape in item.shapes] for item in placed]
    middle = sum(columns) / 2
    firsts = [
        min(range(len(own)), key=lambda k: abs(abs(own[k][0] - middle) - abs(columns[1] - middle))) for own in anchors
    ]
    sites = [own[first] for own, first in zip(anchors, firsts, strict=True)]
    labels = place(sites, columns[0], columns[1], rows[0], rows[1], PITCH_MM)
    lines: list[Primitive] = []
    discs: list[Primitive] = []
    for item, own, first, label in zip(placed, anchors, firsts, labels, strict=True):
        lines += _chain(own)
        lines += _leader(label, own[first], item.shapes[first])
        discs += _label(item, label)
    return lines + discs


def _leader(label: Callout, site: Pair, shape: Shape) -> list[Primitive]:
    start = (label.x - label.side * LABEL_MM, label.y)
    length = math.dist(start, site)
    clear = min(_clear(shape), length)
    share = 1 - clear / length if length else 0
    end = (start[0] + (site[0] - start[0]) * share, start[1] + (site[1] - start[1]) * share)
    line = (start, end)
    drawn: list[Primitive] = [Path((line,), False, Stroke(_PAPER, 0.6)), Path((line,), False, Stroke(INK, 0.12))]
    if isinstance(shape, Line | Ring):
        drawn.append(Disc(*end, 0.42, Stroke(_PAPER, 0.15), INK))
    return drawn


def _chain(points: Sequence[Pair]) -> list[Primitive]:
    """Tie the marks of one finding together with a dotted line, each to the nearest one already tied."""
    nearest = dict.fromkeys(range(1, len(points)), 0)
    lines = []
    while nearest:
        k = min(nearest, key=lambda k: math.dist(points[k], points[nearest[k]]))
        lines.append((points[k], points[nearest.pop(k)]))
        for other, tied in nearest.items():
            if math.dist(points[other], points[k]) < math.dist(points[other], points[tied]):
                nearest[other] = k
    return [Path(tuple(lines), False, Stroke(MUTED, 0.12, (0.3, 0.6)))] if lines else []


def _label(item: Placed, label: Callout) -> list[Primitive]:
    finding = item.finding
    size = 2.75 if finding.number < 100 else 2.2
    dash = (0.7, 0.5) if finding.state == "doubtful" else ()
    return [
        Disc(label.x, label.y, LABEL_MM, Stroke(INK, 0.18, dash), _PAPER),
        Text(label.x, label.y + 0.35 * size, str(finding.number), size, INK, "semibold", "middle"),
        *kind_symbol(finding.kind, label.x + label.side * (LABEL_MM + 2.0), label.y, 1.15),
    ]


def _band(sheet: MapSheet, left: float, right: float, y: float, scale: float) -> list[Primitive]:
    mm_per_unit = 1.0 if sheet.outline_mm else (sheet.photo.plane.mm_per_px if sheet.photo.plane else 0.0)
    drawn: list[Primitive] = []
    if mm_per_unit > 0:
        drawn += scale_bar(left, y, scale / mm_per_unit, (right - left) * 0.45)
    drawn += _orientation(sheet, right, y)
    return drawn


def scale_bar(x: float, y: float, paper_per_mm: float, longest: float, colour: str = INK) -> list[Primitive]:
    """Draw a bar of a round length of at most ``longest`` mm on paper, in two halves, with its length beside it."""
    length = nice_length(longest / paper_per_mm)
    drawn = length * paper_per_mm
    return [
        Path((_rectangle(x, y - 0.5, drawn / 2, 0.8),), True, None, colour),
        Path((_rectangle(x, y - 0.5, drawn, 0.8),), True, Stroke(colour, 0.15)),
        Text(x + drawn + 1.6, y + 0.6, f"{length:g} mm", 2.4, colour),
    ]


def _rectangle(x: float, y: float, width: float, height: float) -> tuple[Pair, ...]:
    return ((x, y), (x + width, y), (x + width, y + height), (x, y + height))


def nice_length(longest_mm: float) -> float:
    """Return the largest of 1, 2, 5 x 10^n that is not longer."""
    if longest_mm <= 0:
        return 0.0
    step = 10.0 ** math.floor(math.log10(longest_mm))
    return next(factor * step for factor in (5, 2, 1) if factor * step <= longest_mm * (1 + 1e-9))


def _orientation(sheet: MapSheet, right: float, y: float) -> list[Primitive]:
    towards = "up" if sheet.outline_mm else _photo_orientation(sheet)
    if not towards:
        return [Text(right, y + 0.6, say("map.as_photographed"), 2.4, MUTED, "italic", "end")]
    turn = {"up": (0, -1), "down": (0, 1), "left": (-1, 0), "right": (1, 0)}[towards]
    x, y_mid, half = right - 2.4, y - 0.2, 2.3

    def at(along: float, across: float) -> Pair:
        return (x + half * (along * turn[0] - across * turn[1]), y_mid + half * (along * turn[1] + across * turn[0]))

    return [
        Path(((at(-1, 0), at(0.3, 0)),), False, Stroke(INK, 0.18)),
        Path(((at(1, 0), at(0.1, 0.32), at(0.1, -0.32)),), True, None, INK),
        Text(right - 6, y + 0.6, say("map.neck"), 2.4, INK, "caption", "end"),
    ]


def _photo_orientation(sheet: MapSheet) -> str:
    view = sheet.view
    return view.neck_towards if view and sheet.photo and view.base_photo_id == sheet.photo.id else ""

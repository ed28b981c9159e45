"""Which map sheets a report needs, and what is drawn on each: every mark exactly once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from condition.records.finding import Finding
from condition.records.photo import Photo
from condition.records.shapes import Circle, Line, Pair, Point, Ring, Shape
from condition.records.sheet import ConditionSheet, FindingEntry, MeasuredMark, ViewEntry
from condition.records.view import View


@dataclass(frozen=True, slots=True)
class Placed:
    """A finding with its shapes in the sheet's unit: mm of the view's frame, or upright pixels of the photo.

    again : shapes of the same things from further photos, drawn thin
    """

    finding: Finding
    shapes: tuple[Shape, ...]
    again: tuple[Shape, ...] = ()


@dataclass(frozen=True, slots=True)
class MapSheet:
    """One sheet.

    view : the face; None for a photo of none
    photo : the base photo; on a sheet without an outline the marks are drawn over it
    others : the photos beside it whose marks lie on the outline, each with the rms of its place in mm
    outline_mm : the face's outline in its frame; None where the marks lie on the photo (then shapes are pixels)
    part, parts : sheets of the same face when its findings do not fit on one
    """

    view: View | None
    photo: Photo | None
    outline_mm: Ring | None
    placed: tuple[Placed, ...]
    part: int = 1
    parts: int = 1
    others: tuple[tuple[Photo, float | None], ...] = ()


def on_face(entry: ViewEntry, findings: Sequence[FindingEntry]) -> tuple[Placed, ...]:
    """Return the findings whose marks are placed on this face, with those marks in mm."""
    placed = []
    for found in findings:
        here = [marked for marked in found.marks if _lies_on(entry, found, marked)]
        shapes = tuple(marked.shape_mm for marked in here if not marked.again)
        if shapes:
            placed.append(Placed(found.finding, shapes, tuple(marked.shape_mm for marked in here if marked.again)))
    return tuple(placed)


def _lies_on(entry: ViewEntry, found: FindingEntry, marked: MeasuredMark) -> bool:
    if marked.shape_mm is None:
        return False
    if marked.view_id is not None:
        return marked.view_id == entry.view.id
    return marked.mark.photo_id == entry.view.base_photo_id or found.finding.view_id == entry.view.id


def plan(sheet: ConditionSheet, most: int) -> tuple[MapSheet, ...]:
    """Return the sheets in the order of the views, then of the photos; at most ``most`` findings on one."""
    photos = {photo.id: photo for photo in sheet.photos}
    views = {entry.view.id: entry.view for entry in sheet.views}
    sheets, drawn = [], set()
    for entry in sheet.views:
        placed = on_face(entry, sheet.findings) if entry.outline_mm else ()
        drawn |= {(item.finding.id, shape) for item in placed for shape in (*item.shapes, *item.again)}
        if placed:
            base = photos.get(entry.view.base_photo_id or "")
            sheets.append(MapSheet(entry.view, base, entry.outline_mm, placed, others=entry.placed))
    for photo in sheet.photos:
        placed = _on_photo(photo, sheet.findings, drawn)
        if placed:
            sheets.append(MapSheet(views.get(photo.view_id or ""), photo, None, placed))
    return tuple(part for one in sheets for part in _parts(one, most))


def _on_photo(photo: Photo, findings: Sequence[FindingEntry], drawn: set[tuple[str, Shape]]) -> tuple[Placed, ...]:
    placed = []
    for found in findings:
        shapes = tuple(
            marked.mark.shape_px
            for marked in found.marks
            if marked.mark.photo_id == photo.id
            and (marked.shape_mm is None or (found.finding.id, marked.shape_mm) not in drawn)
        )
        if shapes:
            placed.append(Placed(found.finding, shapes))
    return tuple(placed)


def _parts(sheet: MapSheet, most: int) -> list[MapSheet]:
    count = -(-len(sheet.placed) // most)
    each = -(-len(sheet.placed) // count)
    return [
        replace(sheet, placed=sheet.placed[k * each : (k + 1) * each], part=k + 1, parts=count) for k in range(count)
    ]


def vertices(shape: Shape) -> tuple[Pair, ...]:
    """Return points that span the shape's extent."""
    match shape:
        case Point(x, y):
            return ((x, y),)
        case Circle(x, y, r):
            return ((x - r, y - r), (x + r, y + r))
        case Line(points) | Ring(points):
            return points


def extent(shapes: Sequence[Shape]) -> tuple[float, float, float, float]:
    """Return (left, top, right, bottom) of all shapes."""
    points = [point for shape in shapes for point in vertices(shape)]
    xs, ys = zip(*points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def moved(shape: Shape, left: float, top: float, scale: float, dx: float, dy: float) -> Shape:
    """Return the shape with (left, top) laid on (dx, dy) and all lengths times ``scale``."""

    def at(point: Pair) -> Pair:
        return ((point[0] - left) * scale + dx, (point[1] - top) * scale + dy)

    match shape:
        case Point(x, y):
            return Point(*at((x, y)))
        case Circle(x, y, radius):
            return Circle(*at((x, y)), radius * scale)
        case Line(points):
            return Line(tuple(map(at, points)))
        case Ring(points, holes):
            return Ring(tuple(map(at, points)), tuple(tuple(map(at, hole)) for hole in holes))

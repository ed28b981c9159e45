"""Where a finding lies in the words of the bench, told from where its marks lie on their face.

Terms by common practice: bass and treble side, upper bout, waist and lower bout, the head's tip, the fret. The bass
side is where the thickest string runs, whoever the body was built for. Strung for a right-handed player (right hand at
the bridge, bass string uppermost as it is held) it is on the left seen from the front with the neck up, and on the
right seen from the back; strung for a left-handed player both are the other way round. A face named for a side is
called what the person called it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from condition.flow.face_marks import Face
from condition.records.finding import Finding
from condition.records.instrument import Handedness, Instrument
from condition.records.shapes import Circle, Line, Point, Ring, Shape
from condition.records.sheet import MeasuredMark
from condition.records.view import VIEW_NAMES
from condition.trade.frets import fret_from_nut
from condition.words import say

BODY, HEADS, SIDES = ("front", "back"), ("headstock front", "headstock back"), ("bass side", "treble side")
SEEN_FROM_BEHIND = ("back", "headstock back")
ON_CENTRE, ACROSS = 0.07, 0.2
"""Over half the face's width."""
AT_EDGE_MM = 12.0
AT_FRET_MM = 3.0
WAIST_DEPTH = 0.95
"""A waist is narrower than this share of both bouts."""
WAIST_REACH = 0.07
"""Half the waist's length, over the body's."""
NO_WAIST_PARTING = 0.42
"""Where a body without a waist (a drop) is taken to part, over its length from the neck."""
MOST_FRETS = 24
SPILL = 0.25
"""Of a mark's points that may lie in the next part of the body."""


@dataclass(frozen=True, slots=True)
class _Body:
    """The face's extent: its length from the neck's end, its centre line, half its width, and where its waist is."""

    length_mm: float
    centre_mm: float
    half_mm: float
    waist_mm: float | None


def proposed_place(
    finding: Finding, marks: Sequence[MeasuredMark], faces: Sequence[Face], instrument: Instrument | None
) -> str:
    """Return where a finding lies, such as 'top, bass side of the lower bout, at the edge'; empty when nothing tells.

    Only a proposal: a place that a person wrote stands before it.
    """
    on_faces = [mark for mark in marks if mark.shape_mm is not None and not mark.again]
    if on_faces:
        face = next((face for face in faces if face.entry.view.id == on_faces[0].view_id), None)
        if face is not None and face.entry.outline_mm is not None:
            shapes = [mark.shape_mm for mark in on_faces if mark.view_id == on_faces[0].view_id]
            return place_in_words(face.entry.view.name, shapes, face.entry.outline_mm, instrument)
    name = next((face.entry.view.name for face in faces if face.entry.view.id == finding.view_id), "")
    return _face_word(name)


def place_in_words(
    view_name: str, shapes_mm: Sequence[Shape], outline_mm: Ring, instrument: Instrument | None = None
) -> str:
    """Return the words for shapes in the millimetres of a face: x to the right as seen, y from the neck's end to the
    tail. Without an instrument the strings are taken to be strung for a right-handed player."""
    handedness = instrument.handedness if instrument else "right"
    points = np.array([point for shape in shapes_mm for point in _points(shape)])
    body = _body(outline_mm)
    face = _face_word(view_name)
    if view_name in BODY:
        side = _side(points, body, view_name, handedness)
        return _joined(face, _of_part(side, _parts(points, body)), _edge(points, outline_mm))
    if view_name in HEADS:
        third = min(2, max(0, int(3 * points[:, 1].mean() / body.length_mm)))
        side = _side(points, body, view_name, handedness)
        return _joined(face, side, say(f"place.head_{('tip', 'middle', 'nut')[third]}"))
    if view_name == "fingerboard":
        return _joined(face, _side(points, body, view_name, handedness), _fret(points, instrument))
    if view_name in SIDES:
        third = min(2, max(0, int(3 * points[:, 1].mean() / body.length_mm)))
        return _joined(face, say(f"place.{('upper_bout', 'waist', 'lower_bout')[third]}"))
    return face


def sides_written(findings: Sequence[Finding]) -> tuple[int, ...]:
    """Return the numbers of findings whose written place names the bass or the treble side: it holds for one way of
    stringing only."""
    sides = [say(f"place.{side}_side").casefold() for side in ("bass", "treble")]
    return tuple(one.number for one in findings if any(side in one.place.casefold() for side in sides))


def _face_word(name: str) -> str:
    return say(f"place.face_{name.replace(' ', '_')}") if name in VIEW_NAMES else name


def _joined(*parts: str) -> str:
    return ", ".join(part for part in parts if part)


def _points(shape: Shape) -> tuple[tuple[float, float], ...]:
    match shape:
        case Point(x, y):
            return ((x, y),)
        case Circle(x, y, r):
            return ((x - r, y), (x + r, y), (x, y - r), (x, y + r))
        case Line(points) | Ring(points):
            return points


@lru_cache(maxsize=64)
def _body(outline_mm: Ring) -> _Body:
    """Measure the outline in slices across the neck's axis."""
    from shapely.geometry import LineString, Polygon

    shape = Polygon(outline_mm.points).buffer(0)
    left, top, right, bottom = shape.bounds
    at = np.linspace(top, bottom, 82)[1:-1]
    cuts = [shape.intersection(LineString([(left - 1, y), (right + 1, y)])) for y in at]
    ends = np.array([(cut.bounds[0], cut.bounds[2]) if not cut.is_empty else (np.nan, np.nan) for cut in cuts])
    widths = np.convolve(np.nan_to_num(ends[:, 1] - ends[:, 0]), np.ones(5) / 5, "same")
    widest = int(np.argmax(widths))
    waist = None
    inner = range(int(0.25 * len(at)), int(0.75 * len(at)))
    narrow = min(inner, key=lambda k: widths[k] / min(widths[:k].max(), widths[k:].max()))
    if widths[narrow] < WAIST_DEPTH * min(widths[:narrow].max(), widths[narrow:].max()):
        waist = float(at[narrow] - top)
    centre = float(ends[widest].mean())
    return _Body(bottom - top, centre, float(np.nanmax(ends[:, 1] - ends[:, 0])) / 2, waist)


def _side(points: np.ndarray, body: _Body, view_name: str, handedness: Handedness) -> str:
    across = (points[:, 0] - body.centre_mm) / body.half_mm
    if across.min() < -ACROSS and across.max() > ACROSS:
        return say("place.both_sides")
    middle = (across.min() + across.max()) / 2
    if abs(middle) < ON_CENTRE:
        return say("place.centre_line")
    bass_on_left = (handedness == "left") == (view_name in SEEN_FROM_BEHIND)
    bass = (middle < 0) == bass_on_left
    return say("place.bass_side" if bass else "place.treble_side")


def _part_at(along: float, body: _Body) -> int:
    """0 for the upper bout, 1 for the waist, 2 for the lower bout."""
    if body.waist_mm is None:
        return 0 if along < NO_WAIST_PARTING * body.length_mm else 2
    reach = WAIST_REACH * body.length_mm
    return 1 if abs(along - body.waist_mm) <= reach else 0 if along < body.waist_mm else 2


def _parts(points: np.ndarray, body: _Body) -> tuple[str, str]:
    """The parts that a mark reaches from and to; what hardly reaches into the next one is not told."""
    low, high = (_part_at(float(y), body) for y in np.quantile(points[:, 1], (SPILL, 1 - SPILL)))
    names = ("upper_bout", "waist", "lower_bout")
    return say(f"place.{names[low]}"), say(f"place.{names[high]}")


def _of_part(side: str, parts: tuple[str, str]) -> str:
    first, last = parts
    if first == last:
        return say("place.side_of_part", side=side, part=first)
    return say("place.side_from_to", side=side, first=first, last=last)


def _edge(points: np.ndarray, outline_mm: Ring) -> str:
    from shapely.geometry import MultiPoint

    away = _rim(outline_mm).distance(MultiPoint(points).centroid)
    return say("place.at_edge") if away < AT_EDGE_MM else ""


@lru_cache(maxsize=64)
def _rim(outline_mm: Ring):
    from shapely.geometry import LinearRing

    return LinearRing(outline_mm.points)


def _fret(points: np.ndarray, instrument: Instrument | None) -> str:
    """The fret by the string length from the board's nut end, which is where the face's y begins."""
    if instrument is None or not instrument.string_length_mm:
        return ""
    along = float(points[:, 1].mean())
    frets = np.array([fret_from_nut(instrument.string_length_mm, n) for n in range(MOST_FRETS + 1)])
    if along > frets[-1] + AT_FRET_MM:
        return ""
    nearest = int(np.abs(frets - along).argmin())
    if nearest and abs(frets[nearest] - along) <= AT_FRET_MM:
        return say("place.at_fret", nth=_nth(nearest))
    before = int(np.searchsorted(frets, max(along, 0.0), side="right")) - 1
    if before == 0:
        return say("place.nut_to_first")
    return say("place.between_frets", first=_nth(before), second=_nth(before + 1))


def _nth(n: int) -> str:
    tail = n % 10 if n % 100 not in (11, 12, 13) else 0
    return say(f"place.nth_{tail if tail in (1, 2, 3) else 'other'}", n=n)

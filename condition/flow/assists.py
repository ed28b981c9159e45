"""The assists: follow a crack, find round holes, grow a loss, take an outline.

The first four functions ask about a stored photo, as the pages do; the others take pixels, as the command line does.
Answers are JSON-ready; places are ``[x, y]`` in pixels of the upright photo.
"""

from __future__ import annotations

import math
import threading
from collections import OrderedDict
from typing import TYPE_CHECKING

import numpy as np

from condition.errors import Refused
from condition.records.plane import PhotoPlane
from condition.records.shapes import Pair, Ring
from condition.words import say

if TYPE_CHECKING:
    from condition.flow.desk import Desk
    from condition.imaging.trace import CrackField, Tone, TracedLine

FIELDS_KEPT = 8
DECIMALS = 3
MOST_LOOSE = 0.12
"""Share of an outline without an edge under it, above which that is told. On the demonstration's photos a true outline
has 0 to 0.10 of it (a neck that is cut off, a head between its tuners), one that took in a shadow has 0.33."""


def trace(desk: Desk, photo_id: str, points: tuple[Pair, ...], tone: Tone | None = None) -> dict:
    """Follow a crack on a stored photo; see :func:`follow_crack`."""
    photo, rgb = _stored(desk, photo_id)
    return follow_crack(rgb, points, photo.sha256, tone)


def ways(desk: Desk, photo_id: str, start: Pair, turn: int = 0, rough: bool = False, tone: Tone | None = None) -> bytes:
    """Tell the ways from a start on a stored photo; see :func:`crack_ways`."""
    _, rgb = _stored(desk, photo_id)
    return crack_ways(rgb, start, turn, tone, rough=rough)


def sketch(desk: Desk, photo_id: str) -> bytes:
    """Tell what following a crack costs all over a stored photo; see :func:`crack_costs`."""
    _, rgb = _stored(desk, photo_id)
    return crack_costs(rgb)


def holes(desk: Desk, photo_id: str, box: tuple[float, float, float, float], bright: bool = False) -> dict:
    """Propose round holes on a stored photo, with their diameters where it has a scale; see :func:`round_holes`."""
    photo, rgb = _stored(desk, photo_id)
    return round_holes(rgb, box, photo.plane, bright=bright)


def grow(
    desk: Desk,
    photo_id: str,
    start: Pair | tuple[Pair, ...],
    amount: float | None = None,
    add: tuple[Pair, ...] = (),
    away: tuple[Pair, ...] = (),
) -> dict:
    """Grow a region on a stored photo; see :func:`grow_loss`."""
    _, rgb = _stored(desk, photo_id)
    return grow_loss(rgb, start, amount, add=add, away=away)


def outline(desk: Desk, photo_id: str, hint: tuple[Pair, ...] | None = None) -> dict:
    """Take the outline on a stored photo; see :func:`take_outline`."""
    _, rgb = _stored(desk, photo_id)
    return take_outline(rgb, None if hint is None else Ring(hint))


def _stored(desk: Desk, photo_id: str):
    from condition.flow.pixels import pixels_of
    from condition.records.photo import Photo

    photo = desk.store.get(Photo, photo_id)
    return photo, pixels_of(desk, photo)


class Fields:
    """The last few crack fields, so that a preview under a moving pointer is a look-up; safe to share by threads."""

    def __init__(self, kept: int = FIELDS_KEPT) -> None:
        self._kept = kept
        self._fields: OrderedDict[tuple, CrackField] = OrderedDict()
        self._lock = threading.Lock()

    def between(self, key: str, rgb: np.ndarray, start: Pair, end: Pair, tone: Tone | None = None) -> CrackField:
        """Return a field of the photo named ``key`` that holds both points, made about the start if there is none."""
        from condition.imaging.trace import CrackField, window_about

        window = window_about(start, end, rgb.shape)
        place = (key, rgb.shape, window, tone)
        with self._lock:
            field = self._fields.pop(place, None) or CrackField(rgb, window, tone)
            self._fields[place] = field
            while len(self._fields) > self._kept:
                self._fields.popitem(last=False)
        return field


_fields = Fields()


def follow_crack(rgb: np.ndarray, points: tuple[Pair, ...], key: str | None = None, tone: Tone | None = None) -> dict:
    """Follow a crack from click to click: ``{"line", "width_px", "width_bound", "tone"}``.

    Parameters
    ----------
    rgb : uint8, shape (H, W, 3), the upright photo
    key : what names the photo for good (its SHA-256): what was worked out about a start is then kept for the next call
    tone : 'dark' or 'light' where the crack is known to be so; default: whichever is plainer

    ``width_px`` is None where no width can be read; with ``width_bound`` true it is a limit that the crack stays below.

    Raises
    ------
    Refused
        As :func:`condition.imaging.trace.trace`.
    """
    from condition.imaging.trace import trace

    field_for = None if key is None else (lambda start, end: _fields.between(key, rgb, start, end, tone))
    return _line_told(trace(rgb, points, tone, field_for))


def crack_ways(rgb: np.ndarray, start: Pair, turn: int = 0, tone: Tone | None = None, *, rough: bool = False) -> bytes:
    """Tell the way from a start to every place in a window about it, so that previews need no further question.

    Parameters
    ----------
    rgb : uint8, shape (H, W, 3), the upright photo
    turn : 0 for the smallest window, 1, 2 ... for wider ones; they end with the photo
    tone : as in :func:`follow_crack`
    rough : at reduced scale, several times as soon

    Returns
    -------
    Eight little-endian int32 (left, top, columns, rows, scale, source column, source row, reach to every side), then a
    byte a pixel, row by row, as :class:`condition.imaging.crack_ways.Ways` says.

    Raises
    ------
    Refused
        The start lies outside the photo.
    """
    from condition.imaging.trace import preview_ways

    height, width = rgb.shape[:2]
    if not (0 <= start[0] <= width and 0 <= start[1] <= height):
        raise Refused("assist.point_outside", x=f"{start[0]:g}", y=f"{start[1]:g}", width=width, height=height)
    found, reach = preview_ways(rgb, start, turn, tone, rough=rough)
    rows, columns = found.steps.shape
    row, column = found.source
    head = np.array([found.left, found.top, columns, rows, found.scale, column, row, reach], "<i4")
    return head.tobytes() + found.steps.tobytes()


def crack_costs(rgb: np.ndarray) -> bytes:
    """Tell what following a crack costs all over a photo (uint8, (H, W, 3)) at reduced size.

    Returns
    -------
    Three little-endian int32 (columns, rows, scale), then the costs for dark cracks and those for light ones, a byte a
    pixel, row by row, as :class:`condition.imaging.crack_sketch.CrackSketch` says.
    """
    from condition.imaging.crack_sketch import crack_sketch

    found = crack_sketch(rgb)
    rows, columns = found.dark.shape
    return np.array([columns, rows, found.scale], "<i4").tobytes() + found.dark.tobytes() + found.light.tobytes()


def _line_told(traced: TracedLine) -> dict:
    width = traced.width
    return {
        "line": _places(traced.line.points),
        "width_px": None if width is None else round(width.px, DECIMALS),
        "width_bound": bool(width and width.bound),
        "tone": traced.tone,
    }


def round_holes(
    rgb: np.ndarray,
    box: tuple[float, float, float, float],
    plane: PhotoPlane | None = None,
    *,
    diameter_mm: tuple[float, float] | None = None,
    bright: bool = False,
) -> dict:
    """Propose the round holes in a box (x, y, width, height): ``{"holes": [{"centre", "diameter_px", "sure", ..}]}``.

    Parameters
    ----------
    plane : where given, each hole has its ``"diameter"`` as a measurement in mm
    diameter_mm : least and largest diameter where the size is known; needs the plane

    Raises
    ------
    Refused
        As :func:`condition.imaging.holes.find_holes`.
    """
    from condition.imaging.holes import find_holes

    band = _band_px(box, plane, diameter_mm) if plane is not None and diameter_mm is not None else None
    told = []
    for hole in find_holes(rgb, box, band, bright=bright):
        entry: dict[str, object] = {
            "centre": _place((hole.x, hole.y)),
            "diameter_px": round(hole.diameter_px, DECIMALS),
            "sure": hole.sure,
            "score": round(hole.score, DECIMALS),
        }
        diameter = _diameter(hole.x, hole.y, hole.diameter_px, plane)
        if diameter is not None:
            entry["diameter"] = diameter
        told.append(entry)
    return {"holes": told, "sure": sum(hole["sure"] for hole in told)}


def _band_px(box: tuple[float, float, float, float], plane: PhotoPlane, diameter_mm: tuple[float, float]):
    from condition.imaging.plane import mm_per_px_at

    middle = np.array([[box[0] + box[2] / 2, box[1] + box[3] / 2]])
    px_per_mm = 1 / float(np.ravel(mm_per_px_at(middle, plane))[0])
    return tuple(0.5 * side * px_per_mm for side in diameter_mm)


def _diameter(x: float, y: float, diameter_px: float, plane: PhotoPlane | None) -> dict | None:
    """Return the measured diameter of a found circle; None where the plane does not reach."""
    if plane is None:
        return None
    from condition.flow.measuring import measure_mark
    from condition.records.measurement import as_json
    from condition.records.shapes import Circle

    angles = np.arange(24) * math.pi / 12
    rim = tuple((x + 0.5 * diameter_px * math.cos(a), y + 0.5 * diameter_px * math.sin(a)) for a in angles)
    try:
        found = measure_mark("screw hole", Circle(x, y, diameter_px / 2, rim), plane, "fitted")
    except Refused:
        return None
    return next((as_json(one) for one in found if one.quantity == "diameter"), None)


def grow_loss(
    rgb: np.ndarray,
    start: Pair | tuple[Pair, ...] | Ring,
    amount: float | None = None,
    *,
    add: tuple[Pair, ...] = (),
    away: tuple[Pair, ...] = (),
) -> dict:
    """Grow a region from a point, or snap a ring drawn round it: ``{"ring", "holes", "amount", "sweep", ..}``.

    Parameters
    ----------
    start : a point, or a ring (its points, or a :class:`Ring`)
    amount : 0..1, how far; default and 0.5: as far as the photo itself suggests
    add, away : further clicks inside and outside the region

    ``edge_sd_px`` is the standard uncertainty of where the edge lies, ``sweep`` the area in px2 along the slider.

    Raises
    ------
    Refused
        As :func:`condition.imaging.grow.grow_from_point` and ``grow_from_ring``.
    """
    from condition.imaging.grow import grow_from_point, grow_from_ring

    if isinstance(start, Ring):
        grown = grow_from_ring(rgb, start, amount, add=add, away=away)
    elif start and isinstance(start[0], (tuple, list)):
        grown = grow_from_ring(rgb, Ring(tuple(tuple(p) for p in start)), amount, add=add, away=away)
    else:
        grown = grow_from_point(rgb, tuple(start), amount, add=add, away=away)
    return {
        "ring": _places(grown.ring.points),
        "holes": [_places(hole) for hole in grown.ring.holes],
        "amount": grown.amount,
        "area_px2": round(grown.area_px2, 1),
        "softness_px2": round(grown.softness_px2, 1),
        "edge_sd_px": round(grown.edge_sd_px, DECIMALS),
        "sweep": [[round(a, 3), round(area, 1)] for a, area in grown.sweep],
    }


def take_outline(rgb: np.ndarray, hint: Ring | None = None) -> dict:
    """Take the outline of the body or headstock that fills the photo: ``{"ring", "edge_share", "advice"}``.

    It is for correction by dragging. ``edge_share`` is the share of its length that has an edge of the photo under it;
    where that is too little, ``advice`` says so, else it is empty.

    Raises
    ------
    Refused
        Nothing stands out from the bench.
    """
    from condition.imaging.markers import find_cards
    from condition.imaging.outline import outline
    from condition.imaging.rim_support import loose_share

    cards = tuple(Ring(card.corners_px) for card in find_cards(rgb))
    ring = outline(rgb, cards, hint)
    loose = loose_share(rgb, ring)
    advice = say("assist.outline_loose", percent=5 * round(20 * loose)) if loose > MOST_LOOSE else ""
    return {"ring": _places(ring.points), "edge_share": round(1 - loose, DECIMALS), "advice": advice}


def drawn_ring(text: bytes, file_name: str, rgb: np.ndarray) -> Ring:
    """Return the first ring of an annotation file that lies on a photo.

    Raises
    ------
    Refused
        The file holds no ring on this photo; else as :func:`condition.report.annotations.read_marks`.
    """
    from condition.report.annotations import Picture, read_marks

    height, width = rgb.shape[:2]
    for mark in read_marks(text, Picture(file_name, width, height)):
        if isinstance(mark.shape_px, Ring):
            return mark.shape_px
    raise Refused("assist.no_ring", file=file_name)


def warm_up() -> None:
    """Load or compile what the first assist would wait for; for a thread at start-up."""
    from condition.imaging.hole_candidates import warm_up as warm_holes
    from condition.imaging.shortest_path import warm_up as warm_paths

    warm_paths()
    warm_holes()


def _place(point: Pair) -> list[float]:
    return [round(float(point[0]), DECIMALS), round(float(point[1]), DECIMALS)]


def _places(points: tuple[Pair, ...]) -> list[list[float]]:
    return [_place(point) for point in points]

"""Judge given places of an intake photo against its return photo, whether or not anything stands out there."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

import cv2
import numpy as np

from condition.imaging.alignment import Alignment
from condition.imaging.change import Change, change_at, placed_in, widened
from condition.imaging.colour import ciede2000
from condition.imaging.difference import DARK_LIGHTNESS, SURE_PEAK, THRESHOLD
from condition.imaging.lightness import lab_of
from condition.imaging.lone import SLIGHT_DELTA_E
from condition.records.shapes import Circle, Line, Point, Ring, Shape

Unseen = Literal["", "outside", "card", "glare", "aside", "dark"]

SPARE_PX = 2.0
"""Marks are drawn by hand."""
LINE_PX, POINT_PX = 3.0, 8.0
"""Half the width taken for a line and for a point."""
LEAST_SEEN = 0.5
AROUND_PX, MOST_REACH_PX = 28, 24.0
CLEAR, CLEARER = 0.6, 0.05
"""Correlation of the surroundings, and by how much more than where the registration puts them."""
LEAST_CHANGED_PX = 6
LEAST_SHARE, MOST_OF_IT = 0.15, 0.5
"""Less of a place in doubt says nothing of it; and what fills a mark that was drawn as a line is no stray string."""


@dataclass(frozen=True, slots=True, eq=False)
class PlaceJudged:
    """One given place.

    ring_before_px, ring_after_px : (N, 2) upright pixels
    unseen : why the two photos do not both show it, or nothing
    changed : whether it differs by more than the pair's own noise, beyond doubt or over a good part; False where unseen
    reason : why the difference may be no change of the surface, or nothing
    delta_e : CIEDE2000 of what differs there (of the whole place where nothing does)
    score : largest departure in standard deviations of the pair's noise
    share : of the place that differs, 0..1
    """

    ring_before_px: np.ndarray
    ring_after_px: np.ndarray
    unseen: Unseen
    changed: bool
    reason: str
    delta_e: float
    score: float
    share: float


def ring_of(shape: Shape, spare_px: float = SPARE_PX) -> np.ndarray:
    """Outline (N, 2) of the surface a shape stands for, in the shape's own pixels."""
    from shapely.geometry import LineString, Polygon
    from shapely.geometry import Point as Spot

    match shape:
        case Point(x, y):
            area = Spot(x, y).buffer(POINT_PX)
        case Circle(x, y, radius):
            area = Spot(x, y).buffer(radius + spare_px)
        case Line(points):
            area = LineString(points).buffer(LINE_PX)
        case Ring(points):
            area = Polygon(points).buffer(0).buffer(spare_px)
    if area.geom_type != "Polygon":
        area = area.convex_hull
    return np.array(area.exterior.coords)[:-1]


def judged_at(
    alignment: Alignment, rings: Sequence[np.ndarray], reason_of: Callable[[Change], str]
) -> tuple[PlaceJudged, ...]:
    """Judge each ring (N, 2), in upright pixels of the intake photo.

    reason_of : why a change may be none, or nothing
    """
    return tuple(_judged(alignment, ring, reason_of) for ring in rings)


def _judged(alignment: Alignment, ring: np.ndarray, reason_of: Callable[[Change], str]) -> PlaceJudged:
    after = alignment.registration.overlay.to_after(ring)
    whole = _filled(ring * alignment.factor, alignment.usable.shape)
    if not whole.any():
        return PlaceJudged(ring, after, "outside", False, "", 0.0, 0.0, 0.0)
    unseen = _unseen(alignment, whole)
    if unseen:
        return PlaceJudged(ring, after, unseen, False, "", 0.0, 0.0, 0.0)
    difference = alignment.difference
    mask = (whole & alignment.usable)[alignment.window]
    rows, columns = np.nonzero(mask)
    place = (slice(rows.min(), rows.max() + 1), slice(columns.min(), columns.max() + 1))
    mask = mask[place]
    shift = shift_near(alignment, place, mask)
    if shift is not None:
        return _judged_shifted(alignment, ring, place, mask, shift)
    departure = np.where(mask, difference.departure[place], 0)
    above = departure > THRESHOLD
    score = float(departure.max())
    if above.sum() < LEAST_CHANGED_PX:
        change = change_at(difference, score, place, mask)
        if max(change.colour[0], (change.colour + change.offset)[0]) < DARK_LIGHTNESS:
            return PlaceJudged(ring, after, "dark", False, "", change.delta_e, score, 0.0)
        return PlaceJudged(ring, after, "", False, "", change.delta_e, score, float(above.sum() / mask.sum()))
    change = change_at(difference, score, place, above)
    share = float(above.sum() / mask.sum())
    reason = reason_of(change) or ("" if score >= SURE_PEAK else "faint")
    if reason == "thin" and share > MOST_OF_IT:
        reason = ""
    return PlaceJudged(ring, after, "", not reason or share >= LEAST_SHARE, reason, change.delta_e, score, share)


def shift_near(alignment: Alignment, place: tuple[slice, slice], mask: np.ndarray) -> tuple[int, int] | None:
    """How far, (across, down) px, the surroundings of a place lie beside where the registration puts them, where they
    tell clearly; None where they lie right. What lies in the place itself has no say."""
    reach = int(np.ceil(min(MOST_REACH_PX, 2.5 * alignment.registration.local_px * alignment.factor)))
    if reach < 2:
        return None
    before, relit = (cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY).astype(np.float32)
                     for picture in (alignment.difference.before, alignment.difference.relit))  # fmt: skip
    height, width = before.shape
    rows, columns = place
    top, bottom = max(reach, rows.start - AROUND_PX), min(height - reach, rows.stop + AROUND_PX)
    left, right = max(reach, columns.start - AROUND_PX), min(width - reach, columns.stop + AROUND_PX)
    if bottom - top < AROUND_PX or right - left < AROUND_PX:
        return None
    template = before[top:bottom, left:right]
    around = relit[top - reach : bottom + reach, left - reach : right + reach]
    template, around = (picture - cv2.GaussianBlur(picture, (0, 0), 8) for picture in (template, around))
    beside = np.ones(template.shape, np.float32)
    own = cv2.dilate(mask.astype(np.uint8), np.ones((5, 5), np.uint8)) > 0
    y, x = max(0, rows.start - top), max(0, columns.start - left)
    part = own[: template.shape[0] - y, : template.shape[1] - x]
    beside[y : y + part.shape[0], x : x + part.shape[1]][part] = 0
    score = cv2.matchTemplate(around, template, cv2.TM_CCORR_NORMED, mask=beside)
    _, best, _, (column, row) = cv2.minMaxLoc(np.nan_to_num(score))
    if best < CLEAR or best < score[reach, reach] + CLEARER or max(abs(column - reach), abs(row - reach)) <= 1:
        return None
    return column - reach, row - reach


def _judged_shifted(
    alignment: Alignment, ring: np.ndarray, place: tuple[slice, slice], mask: np.ndarray, shift: tuple[int, int]
) -> PlaceJudged:
    """Judge a place by its surroundings' own noise, the return photo moved so that they lie right."""
    difference = alignment.difference
    window = widened(place, AROUND_PX, difference.departure.shape)
    inner = placed_in(place, mask, window)
    rows, columns = window
    moved = cv2.warpAffine(
        difference.relit,
        np.array([[1, 0, -columns.start - shift[0]], [0, 1, -rows.start - shift[1]]], np.float32),
        (columns.stop - columns.start, rows.stop - rows.start),
        borderMode=cv2.BORDER_REPLICATE,
    )
    one, two = (lab_of(cv2.GaussianBlur(picture, (0, 0), 1.2)) for picture in (difference.before[window], moved))
    beside = cv2.dilate(inner.astype(np.uint8), np.ones((7, 7), np.uint8)) == 0
    step = two - one
    step -= np.median(step[beside], axis=0)
    size = np.linalg.norm(step, axis=2)
    noise = max(1.0, float(np.median(size[beside])))
    above = inner & (size > THRESHOLD * noise)
    core = above if above.sum() >= LEAST_CHANGED_PX else inner
    colour, change = np.median(one[core], axis=0), np.median(step[core], axis=0)
    delta_e = float(ciede2000(colour[None].astype(float), (colour + change)[None].astype(float))[0])
    score = float(np.quantile(size[inner], 0.95)) / noise
    ring_after = alignment.registration.overlay.to_after(ring + np.array(shift) / alignment.factor)
    changed = bool(above.sum() >= LEAST_CHANGED_PX)
    reason = "slight" if changed and alignment.lit_anew and delta_e < SLIGHT_DELTA_E else ""
    return PlaceJudged(ring, ring_after, "", changed, reason, delta_e, score, float(above.sum() / inner.sum()))


def _filled(ring: np.ndarray, shape: tuple[int, int]) -> np.ndarray:
    mask = np.zeros(shape, np.uint8)
    cv2.fillPoly(mask, [np.round((ring - 0.5) * 16).astype(np.int32)], 1, shift=4)
    return mask > 0


def _unseen(alignment: Alignment, mask: np.ndarray) -> Unseen:
    if alignment.seen[mask].mean() < LEAST_SEEN:
        return "outside"
    if alignment.usable[mask].mean() >= LEAST_SEEN:
        return "glare" if alignment.burnt[mask].mean() > LEAST_SEEN else ""
    if alignment.cards[mask].mean() > 0.3:
        return "card"
    return "aside"

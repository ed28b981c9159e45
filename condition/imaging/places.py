"""Judge given places of an intake photo against its return photo, whether or not anything stands out there."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

import cv2
import numpy as np

from condition.imaging.alignment import Alignment
from condition.imaging.change import Change, change_at
from condition.imaging.difference import DARK_LIGHTNESS, SURE_PEAK, THRESHOLD
from condition.records.shapes import Circle, Line, Point, Ring, Shape

Unseen = Literal["", "outside", "card", "glare", "aside", "dark"]

SPARE_PX = 2.0
"""Marks are drawn by hand."""
LINE_PX, POINT_PX = 3.0, 8.0
"""Half the width taken for a line and for a point."""
LEAST_SEEN = 0.5
LEAST_CHANGED_PX = 6


@dataclass(frozen=True, slots=True, eq=False)
class PlaceJudged:
    """One given place.

    ring_before_px, ring_after_px : (N, 2) upright pixels
    unseen : why the two photos do not both show it, or nothing
    changed : whether it differs by more than the pair's own noise; False where unseen
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
    alignment: Alignment, shapes: Sequence[Shape], reason_of: Callable[[Change], str]
) -> tuple[PlaceJudged, ...]:
    """Judge each shape, in upright pixels of the intake photo.

    reason_of : why a change may be none, or nothing
    """
    return tuple(_judged(alignment, ring_of(shape), reason_of) for shape in shapes)


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
    departure = np.where(mask, difference.departure[place], 0)
    above = departure > THRESHOLD
    score = float(departure.max())
    if above.sum() < LEAST_CHANGED_PX:
        change = change_at(difference, score, place, mask)
        if max(change.colour[0], (change.colour + change.offset)[0]) < DARK_LIGHTNESS:
            return PlaceJudged(ring, after, "dark", False, "", change.delta_e, score, 0.0)
        return PlaceJudged(ring, after, "", False, "", change.delta_e, score, float(above.sum() / mask.sum()))
    change = change_at(difference, score, place, above)
    reason = reason_of(change) or ("" if score >= SURE_PEAK else "faint")
    return PlaceJudged(ring, after, "", True, reason, change.delta_e, score, float(above.sum() / mask.sum()))


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

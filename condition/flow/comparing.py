"""A return photo against its intake photo: one way for the pages and the command line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from condition.errors import Refused
from condition.flow.loose_photos import read_photo
from condition.records.measurement import Measurement
from condition.records.plane import MIRRORED, PhotoPlane, SizeCard
from condition.records.shapes import Ring, Shape

if TYPE_CHECKING:
    from condition.imaging.comparison import Comparison
    from condition.imaging.places import PlaceJudged
    from condition.imaging.register import Registration

HEIGHT_UNKNOWN_SD_MM = 50.0
"""Cards on the bench, compared face unknown how far above them: bodies and necks stand up to 10 cm proud (common
practice), k = 2."""


@dataclass(frozen=True, slots=True)
class ChangeSeen:
    """One change, or what seems one: ``reason`` says why it is in doubt, or nothing.

    ring_before_px, ring_after_px : in upright pixels of the intake and the return photo
    delta_e : CIEDE2000, after both were brought to one light
    sureness : largest departure, in standard deviations of this pair's noise
    """

    ring_before_px: Ring
    ring_after_px: Ring
    delta_e: float
    sureness: float
    reason: str = ""
    area: Measurement | None = None


@dataclass(frozen=True, slots=True)
class PlaceSeen:
    """One place that was asked for, such as a finding's mark.

    ring_before_px, ring_after_px : the surface judged, in upright pixels of the intake and the return photo
    seen : whether both photos show it well enough to compare; else ``unseen`` says why not (``outside`` the return
        photo's frame, ``card``, ``glare``, ``aside``, ``dark``)
    changed : whether it differs by more than this pair's noise
    reason : why that may be no change of the surface (as :class:`ChangeSeen`), or nothing
    delta_e : CIEDE2000 of what differs there, or of the whole place where nothing does
    score : largest departure, in standard deviations of this pair's noise
    share : of the place that differs, 0..1
    """

    ring_before_px: Ring
    ring_after_px: Ring
    seen: bool
    unseen: str
    changed: bool
    reason: str
    delta_e: float
    score: float
    share: float


@dataclass(frozen=True, slots=True, eq=False)
class Compared:
    """changes and doubtful, each with the surest first; share : of the intake photo that was compared
    advice : catalogue codes and their values; places : one for each place that was asked for, in that order"""

    registration: Registration
    changes: tuple[ChangeSeen, ...]
    doubtful: tuple[ChangeSeen, ...]
    share: float
    advice: tuple[tuple[str, tuple[tuple[str, str], ...]], ...] = ()
    places: tuple[PlaceSeen, ...] = ()


def compare_files(before_path: str, after_path: str, height_mm: float | None = None) -> Compared:
    """Compare two photo files that need not be in a store.

    height_mm : height of the compared face above the intake photo's cards; None when nobody said

    Raises
    ------
    Refused
        A file is no photo, or the two do not go together.
    """
    before, after = read_photo(before_path), read_photo(after_path)
    return compare_photos(before.rgb, after.rgb, before.focal_35mm, height_mm)


def compare_photos(
    before: np.ndarray,
    after: np.ndarray,
    focal_35mm: float | None = None,
    height_mm: float | None = None,
    plane: PhotoPlane | None = None,
    outline_px: Ring | None = None,
    left_aside: Sequence[Ring] = (),
    places: Sequence[Shape] = (),
    cards_seen: Sequence[Sequence[SizeCard] | None] = (None, None),
) -> Compared:
    """Compare two upright photos, uint8 (H, W, 3).

    Parameters
    ----------
    focal_35mm, height_mm : of the intake photo, for the plane its cards give
    plane : the intake photo's plane, where it is already known
    outline_px : the instrument's outline in the intake photo
    left_aside : regions of the intake photo that take no part, such as strings or what was declared
    places : shapes in the intake photo that are judged in any case, such as the findings' marks
    cards_seen : the size cards of each photo as they were read when it was taken in; None has them looked for

    Raises
    ------
    Refused
        The two do not go together (see :func:`condition.imaging.register.register`).
    """
    known_before, known_after = cards_seen
    cards_before = _cards_of(before, known_before)
    found = _laid_over(before, after, cards_before, known_after, outline_px, left_aside, places)
    return _told(found, before, cards_before, focal_35mm, height_mm, plane)


def _laid_over(
    before: np.ndarray,
    after: np.ndarray,
    cards_before: Sequence[SizeCard],
    known_after: Sequence[SizeCard] | None,
    outline_px: Ring | None,
    left_aside: Sequence[Ring],
    places: Sequence[Shape],
) -> Comparison:
    from condition.imaging.comparison import compared

    cards_after = _cards_of(after, known_after, cards_before)
    return compared(before, after, cards_before, cards_after, outline_px, left_aside, places)


def _cards_of(
    photo: np.ndarray, known: Sequence[SizeCard] | None, others: Sequence[SizeCard] = ()
) -> Sequence[SizeCard]:
    """The size cards of a photo; refused when it is mirrored and the other one shows cards."""
    from condition.imaging.markers import find_cards

    cards = find_cards(photo) if known is None else known
    if others and any(card.left_out == MIRRORED for card in cards):
        raise Refused("compare.mirrored")
    return cards


def _told(
    found: Comparison,
    before: np.ndarray,
    cards: Sequence[SizeCard],
    focal_35mm: float | None,
    height_mm: float | None,
    plane: PhotoPlane | None,
) -> Compared:
    advice: list[tuple[str, tuple[tuple[str, str], ...]]] = []
    if plane is None:
        plane, advice = _plane(cards, before, focal_35mm, height_mm, found.compared)
    seen = [
        ChangeSeen(
            _ring(one.ring_before_px),
            _ring(one.ring_after_px),
            one.change.delta_e,
            one.change.peak,
            one.reason,
            _area(_ring(one.ring_before_px), plane),
        )
        for one in (*found.changes, *found.doubtful)
    ]
    if any(one.reason == "reflection" for one in seen):
        advice.append(("compare.advice.reflection", ()))
    return Compared(
        found.registration,
        tuple(one for one in seen if not one.reason),
        tuple(one for one in seen if one.reason),
        float(found.compared.mean()),
        tuple(advice),
        tuple(_place(one) for one in found.places),
    )


def settle_by_second(
    before: np.ndarray,
    after: np.ndarray,
    again: np.ndarray,
    focal_35mm: float | None = None,
    height_mm: float | None = None,
    plane: PhotoPlane | None = None,
    outline_px: Ring | None = None,
    left_aside: Sequence[Ring] = (),
    places: Sequence[Shape] = (),
    cards_seen: Sequence[Sequence[SizeCard] | None] = (None, None, None),
) -> Compared:
    """As :func:`compare_photos`, with a second return photo ``again`` for which the lamp was moved.

    What seemed a reflection, a shadow or faint and lies there in both is a change; what one of them shows and the
    other does not stays in doubt, reason ``light``. What only one of them could show is told as that one tells it.
    Outlines and places after the work are those of ``after``.
    """
    from condition.imaging.settled import settled

    known_before, *known_later = cards_seen
    cards_before = _cards_of(before, known_before)
    one, two = (
        _laid_over(before, photo, cards_before, known, outline_px, left_aside, places)
        for photo, known in zip((after, again), known_later, strict=True)
    )
    return _told(settled(one, two), before, cards_before, focal_35mm, height_mm, plane)


def judge_places(
    before: np.ndarray,
    after: np.ndarray,
    places: Sequence[Shape],
    outline_px: Ring | None = None,
    left_aside: Sequence[Ring] = (),
) -> tuple[PlaceSeen, ...]:
    """Judge only the places, as :func:`compare_photos` does beside its list of changes."""
    return compare_photos(before, after, outline_px=outline_px, left_aside=left_aside, places=places).places


def _place(one: PlaceJudged) -> PlaceSeen:
    return PlaceSeen(
        _ring(one.ring_before_px),
        _ring(one.ring_after_px),
        not one.unseen,
        one.unseen,
        one.changed,
        one.reason,
        one.delta_e,
        one.score,
        one.share,
    )


def _ring(points: np.ndarray) -> Ring:
    return Ring(tuple((float(x), float(y)) for x, y in points))


def _plane(
    cards: Sequence[SizeCard], before: np.ndarray, focal_35mm: float | None, height_mm: float | None, face: np.ndarray
):
    """The intake photo's plane, if its cards give one, and what to say about it."""
    from condition.imaging.plane_from_cards import plane_from_cards

    usable = [card for card in cards if not card.left_out]
    if not usable:
        return None, []
    height_sd, advice = None, []
    if height_mm is None and not all(_lies_on(card, face) for card in usable):
        height_sd = HEIGHT_UNKNOWN_SD_MM
        advice = [("compare.advice.height", ())]
    try:
        plane = plane_from_cards(
            cards, before.shape[1], before.shape[0], focal_35mm, height_mm or 0.0, surface_height_sd_mm=height_sd
        )
    except Refused as refusal:
        return None, [refusal.told]
    return plane, advice


def _lies_on(card: SizeCard, face: np.ndarray) -> bool:
    """Whether the compared face lies round the card on all sides: the card lies on it."""
    corners = np.array(card.corners_px)
    middle = corners.mean(0)
    around = middle + 2.2 * (np.vstack([corners, (corners + np.roll(corners, 1, 0)) / 2]) - middle)
    columns, rows = np.clip(around.astype(int), 0, (face.shape[1] - 1, face.shape[0] - 1)).T
    return bool(face[rows, columns].mean() > 0.7)


def _area(ring_px: Ring, plane: PhotoPlane | None) -> Measurement | None:
    from condition.measure.area import area_of
    from condition.measure.way import way_of

    if plane is None:
        return None
    try:
        return area_of(ring_px, plane, way_of("grown"))
    except Refused:
        return None

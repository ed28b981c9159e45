"""A return photo against its intake photo: one way for the pages and the command line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from condition.errors import Refused
from condition.flow.measuring import read_photo
from condition.records.measurement import Measurement
from condition.records.plane import PhotoPlane, SizeCard
from condition.records.shapes import Ring

if TYPE_CHECKING:
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


@dataclass(frozen=True, slots=True, eq=False)
class Compared:
    """changes and doubtful, each with the surest first; share : of the intake photo that was compared
    advice : catalogue codes and their values"""

    registration: Registration
    changes: tuple[ChangeSeen, ...]
    doubtful: tuple[ChangeSeen, ...]
    share: float
    advice: tuple[tuple[str, tuple[tuple[str, str], ...]], ...] = ()


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
) -> Compared:
    """Compare two upright photos, uint8 (H, W, 3).

    Parameters
    ----------
    focal_35mm, height_mm : of the intake photo, for the plane its cards give
    plane : the intake photo's plane, where it is already known
    outline_px : the instrument's outline in the intake photo
    left_aside : regions of the intake photo that take no part

    Raises
    ------
    Refused
        The two do not go together (see :func:`condition.imaging.register.register`).
    """
    from condition.imaging.comparison import compared
    from condition.imaging.markers import find_cards, is_mirrored

    cards_before, cards_after = find_cards(before), find_cards(after)
    if cards_before and not cards_after and is_mirrored(after):
        raise Refused("compare.mirrored")
    found = compared(before, after, cards_before, cards_after, outline_px, left_aside)
    advice: list[tuple[str, tuple[tuple[str, str], ...]]] = []
    if plane is None:
        plane, advice = _plane(cards_before, before, focal_35mm, height_mm, found.compared)
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
    share = float(found.compared.mean())
    return Compared(
        found.registration,
        tuple(one for one in seen if not one.reason),
        tuple(one for one in seen if one.reason),
        share,
        tuple(advice),
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
        return None, [(refusal.code, tuple((name, str(value)) for name, value in refusal.values.items()))]
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

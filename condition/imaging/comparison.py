"""What changed between an intake photo and a return photo of the same face, and what only seems to have."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from condition.imaging.alignment import Alignment, aligned
from condition.imaging.change import Change, change_at
from condition.imaging.difference import DARK_LIGHTNESS, SURE_PEAK, regions_of
from condition.imaging.light_change import light_reason, other_light_on_the_same
from condition.imaging.parallax import EXPLAINED, left_after_moving, reach_at
from condition.imaging.places import PlaceJudged, judged_at
from condition.imaging.register import Registration
from condition.records.plane import SizeCard
from condition.records.shapes import Ring, Shape

Reason = Literal["", "reflection", "shadow", "parallax", "border", "dark", "faint", "light"]


@dataclass(frozen=True, slots=True, eq=False)
class Judged:
    """A change and its outline in both photos; ``reason`` says why it is in doubt, or nothing.

    ring_before_px, ring_after_px : (N, 2) upright pixels
    """

    change: Change
    ring_before_px: np.ndarray
    ring_after_px: np.ndarray
    reason: Reason


@dataclass(frozen=True, slots=True, eq=False)
class Comparison:
    """changes, doubtful : the surest first; compared : bool (H, W), the part of the intake photo that was compared
    places : one for each place that was asked for, in that order"""

    registration: Registration
    changes: tuple[Judged, ...]
    doubtful: tuple[Judged, ...]
    compared: np.ndarray
    places: tuple[PlaceJudged, ...] = ()


def compared(
    before: np.ndarray,
    after: np.ndarray,
    before_cards: Sequence[SizeCard] = (),
    after_cards: Sequence[SizeCard] = (),
    outline_px: Ring | None = None,
    left_aside: Sequence[Ring] = (),
    places: Sequence[Shape] = (),
) -> Comparison:
    """Compare two upright sRGB photos, uint8 (H, W, 3); as :func:`condition.imaging.alignment.aligned`, and
    ``places`` of the intake photo to judge in any case."""
    alignment = aligned(before, after, before_cards, after_cards, outline_px, left_aside)

    def reason_of(change: Change) -> Reason:
        return _reason(change, alignment)

    judged = []
    for peak, place, mask in regions_of(alignment.difference.departure):
        change = change_at(alignment.difference, peak, place, mask)
        reason = reason_of(change) or ("faint" if peak < SURE_PEAK else "")
        change = _shifted(change, alignment.window)
        judged.append(
            Judged(change, change.ring_px, alignment.registration.overlay.to_after(change.ring_px), reason)
        )  # fmt: skip
    return Comparison(
        alignment.registration,
        tuple(one for one in judged if not one.reason),
        tuple(one for one in judged if one.reason),
        alignment.usable,
        judged_at(alignment, places, reason_of),
    )


def _shifted(change: Change, window: tuple[slice, slice]) -> Change:
    """A change of a window, in the whole photo."""
    top, left = window[0].start, window[1].start
    rows, columns = change.window
    place = (slice(rows.start + top, rows.stop + top), slice(columns.start + left, columns.stop + left))
    return replace(change, ring_px=change.ring_px + np.array([left, top]), window=place)


def _reason(change: Change, alignment: Alignment) -> Reason:
    difference = alignment.difference
    lightness = difference.before[change.window][..., 0][change.mask]
    darkest = lightness + difference.offset[change.window][..., 0][change.mask]
    if np.median(np.maximum(lightness, darkest)) < DARK_LIGHTNESS:
        return "dark"
    if alignment.border[change.window][change.mask].mean() > 0.5:
        return "border"
    moved = alignment.registration.moved
    reach = max(reach_at(_shifted(change, alignment.window), moved, alignment.usable.shape), 1.5)
    if left_after_moving(change, alignment.before, alignment.relit, reach) < EXPLAINED:
        return "parallax"
    told = light_reason(change, alignment.before, alignment.relit, alignment.sharp_px, reach > 1.5)
    return told or other_light_on_the_same(change, difference)

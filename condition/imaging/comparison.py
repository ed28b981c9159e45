"""What changed between an intake photo and a return photo of the same face, and what only seems to have."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import cv2
import numpy as np

from condition.imaging.alignment import Alignment, aligned
from condition.imaging.change import Change, change_at
from condition.imaging.difference import DARK_LIGHTNESS, SURE_PEAK, regions_of
from condition.imaging.edge_residue import is_edge_residue
from condition.imaging.light_change import light_reason, other_light_on_the_same
from condition.imaging.lone import lone_reason
from condition.imaging.parallax import EXPLAINED, left_after_moving, reach_at
from condition.imaging.places import PlaceJudged, judged_at, ring_of
from condition.imaging.register import Registration
from condition.records.plane import SizeCard
from condition.records.shapes import Ring, Shape

Reason = Literal[
    "", "reflection", "shadow", "parallax", "border", "dark", "edge", "thin", "unsettled", "slight", "faint", "light"
]


BURNT_SHARE = 0.3
LEAST_REACH_PX = 1.5
RAISED_SHARE = 0.004
"""Of the picture's longer side: how far bridges, saddles and knobs move against the face between two poses that are
alike. Looked for only where the lamps moved too: two photos from one stand need no such doubt."""


@dataclass(frozen=True, slots=True, eq=False)
class Judged:
    """A change and its outline in both photos; ``reason`` says why it is in doubt, or nothing.

    change : in the picture it was found in, which may be smaller than the photo
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
    rings = [ring_of(shape) for shape in places]
    alignment = aligned(before, after, before_cards, after_cards, outline_px, left_aside, rings)

    def reason_of(change: Change) -> Reason:
        return _reason(change, alignment)

    judged = []
    settled = len(alignment.registration.steady.places) > 0
    for peak, place, mask in regions_of(alignment.difference.departure):
        change = change_at(alignment.difference, peak, place, mask)
        reason = reason_of(change) or ("edge" if is_edge_residue(change, alignment.difference) else "")
        reason = reason or ("faint" if peak < SURE_PEAK else "") or ("" if settled else "unsettled")
        ring = alignment.full_px(change.ring_px)
        judged.append(Judged(change, ring, alignment.registration.overlay.to_after(ring), reason))
    return Comparison(
        alignment.registration,
        tuple(one for one in judged if not one.reason),
        tuple(one for one in judged if one.reason),
        _at_full_size(alignment.usable, before.shape),
        judged_at(alignment, rings, reason_of),
    )


def _at_full_size(mask: np.ndarray, shape: tuple[int, ...]) -> np.ndarray:
    return cv2.resize(mask.astype(np.uint8), shape[1::-1], interpolation=cv2.INTER_NEAREST) > 0


def _reason(change: Change, alignment: Alignment) -> Reason:
    difference = alignment.difference
    if max(change.colour[0], (change.colour + change.offset)[0]) < DARK_LIGHTNESS:
        return "dark"
    if alignment.border[change.window][change.mask].mean() > 0.5:
        return "border"
    if alignment.burnt[alignment.window][change.window][change.mask].mean() > BURNT_SHARE:
        return "reflection"
    side = max(alignment.usable.shape)
    reach = max(reach_at(change, alignment.moved, side), LEAST_REACH_PX)
    if alignment.lit_anew:
        reach = max(reach, RAISED_SHARE * side, 2 * alignment.registration.local_px * alignment.factor)
    if left_after_moving(change, difference.before, difference.relit, reach) < EXPLAINED:
        return "parallax"
    raised = reach > LEAST_REACH_PX
    told = light_reason(change, difference.before, difference.relit, alignment.sharp_px, raised, alignment.lit_anew)
    if told or not alignment.lit_anew:
        return told
    return other_light_on_the_same(change, difference) or lone_reason(change, difference)

"""What changed between an intake photo and a return photo of the same face, and what only seems to have."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import cv2
import numpy as np

from condition.imaging.card_cover import covered_by, paper_corners
from condition.imaging.change import Change, change_at
from condition.imaging.compared_region import clipped_in, instrument_in
from condition.imaging.difference import DARK_LIGHTNESS, SURE_PEAK, Difference, difference_of, regions_of
from condition.imaging.light_change import light_reason, other_light_on_the_same
from condition.imaging.overlay import laid_over
from condition.imaging.parallax import EXPLAINED, left_after_moving, reach_at
from condition.imaging.register import Registration, inside, register
from condition.imaging.sharpness import measure as sharpness
from condition.imaging.tone import fitted_tone, in_light_of
from condition.records.plane import SizeCard
from condition.records.shapes import Ring

Reason = Literal["", "reflection", "shadow", "parallax", "border", "dark", "faint"]

BORDER_SHARE = 0.012
"""Width of the rounded rim, over the photo's longer side: light runs along it and the bench shows beside it."""
ROUND_PX = 24
USUAL_BLUR_PX = 0.9
WORTH_MATCHING_PX = 0.4


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
    """changes, doubtful : the surest first; compared : bool (H, W), the part of the intake photo that was compared"""

    registration: Registration
    changes: tuple[Judged, ...]
    doubtful: tuple[Judged, ...]
    compared: np.ndarray


def compared(
    before: np.ndarray,
    after: np.ndarray,
    before_cards: Sequence[SizeCard] = (),
    after_cards: Sequence[SizeCard] = (),
    outline_px: Ring | None = None,
    left_aside: Sequence[Ring] = (),
) -> Comparison:
    """Compare two upright sRGB photos, uint8 (H, W, 3).

    Parameters
    ----------
    before_cards, after_cards : size cards of each photo; they are kept out of both
    outline_px : the instrument's outline in the intake photo, where it is known; else it is found
    left_aside : regions of the intake photo that take no part, such as strings taken off

    Raises
    ------
    Refused
        As :func:`condition.imaging.register.register`.
    """
    registration = register(before, after, before_cards, after_cards, outline_px)
    overlay = registration.overlay
    laid, seen = laid_over(after, overlay)
    height, width = seen.shape
    cards = covered_by(before_cards, height, width) | _cards_laid(after_cards, registration, height, width)
    instrument = inside(outline_px, height, width) if outline_px else instrument_in(before, laid, seen, cards)
    usable = cv2.erode((seen & instrument).astype(np.uint8), np.ones((7, 7), np.uint8)) > 0
    usable &= ~cards & ~clipped_in(before) & ~clipped_in(laid)
    for ring in left_aside:
        usable &= ~inside(ring, height, width)
    window = _window_of(usable)
    tone = fitted_tone(before[window], laid[window], usable[window])
    relit = in_light_of(laid[window], tone)
    del laid
    border = _border(instrument, seen)[window]
    sharper, relit, sharp_px = _equally_sharp(before[window], relit)
    difference = difference_of(sharper, relit, usable[window], registration.local_px)
    judged = []
    for peak, place, mask in regions_of(difference.departure):
        change = change_at(difference, peak, place, mask)
        reason = _reason(change, difference, sharper, relit, registration, border, sharp_px, window)
        change = _shifted(change, window)
        judged.append(Judged(change, change.ring_px, overlay.to_after(change.ring_px), reason))
    return Comparison(
        registration,
        tuple(one for one in judged if not one.reason),
        tuple(one for one in judged if one.reason),
        usable,
    )


def _window_of(usable: np.ndarray) -> tuple[slice, slice]:
    """The least window that holds what is compared, and a little round it; all when nothing is."""
    height, width = usable.shape
    rows, columns = np.flatnonzero(usable.any(1)), np.flatnonzero(usable.any(0))
    if not len(rows):
        return slice(0, height), slice(0, width)
    return (
        slice(max(0, int(rows[0]) - ROUND_PX), min(height, int(rows[-1]) + 1 + ROUND_PX)),
        slice(max(0, int(columns[0]) - ROUND_PX), min(width, int(columns[-1]) + 1 + ROUND_PX)),
    )


def _shifted(change: Change, window: tuple[slice, slice]) -> Change:
    """A change of a window, in the whole photo."""
    top, left = window[0].start, window[1].start
    rows, columns = change.window
    place = (slice(rows.start + top, rows.stop + top), slice(columns.start + left, columns.stop + left))
    return replace(change, ring_px=change.ring_px + np.array([left, top]), window=place)


def _cards_laid(cards: Sequence[SizeCard], registration: Registration, height: int, width: int) -> np.ndarray:
    """The return photo's cards, in the intake photo's frame."""
    mask = np.zeros((height, width), np.uint8)
    for card in cards:
        corners = registration.overlay.to_before(paper_corners(card))
        if np.isfinite(corners).all() and np.abs(corners).max() < 10 * max(height, width):
            cv2.fillConvexPoly(mask, np.round(corners - 0.5).astype(np.int32), 1)
    return mask > 0


def _equally_sharp(before: np.ndarray, relit: np.ndarray) -> tuple[np.ndarray, np.ndarray, float]:
    """Blur the sharper photo to the other's sharpness; and how blurred both are then, in px."""
    blurs = [sharpness(picture).across_px for picture in (before, relit)]
    if None in blurs:
        return before, relit, USUAL_BLUR_PX
    gap = float(np.sqrt(abs(blurs[0] ** 2 - blurs[1] ** 2)))
    if gap > WORTH_MATCHING_PX:
        if blurs[0] < blurs[1]:
            before = cv2.GaussianBlur(before, (0, 0), gap)
        else:
            relit = cv2.GaussianBlur(relit, (0, 0), gap)
    return before, relit, float(max(blurs))


def _border(instrument: np.ndarray, seen: np.ndarray) -> np.ndarray:
    """bool (H, W): the instrument's own border, not where the picture ends."""
    reach = max(3, round(BORDER_SHARE * max(instrument.shape)))
    away = cv2.distanceTransform((instrument | ~seen).astype(np.uint8), cv2.DIST_L2, 3)
    return away < reach


def _reason(
    change: Change,
    difference: Difference,
    before: np.ndarray,
    relit: np.ndarray,
    registration: Registration,
    border: np.ndarray,
    sharp_px: float,
    window: tuple[slice, slice],
) -> Reason:
    lightness = difference.before[change.window][..., 0][change.mask]
    darkest = lightness + difference.offset[change.window][..., 0][change.mask]
    if np.median(np.maximum(lightness, darkest)) < DARK_LIGHTNESS:
        return "dark"
    if border[change.window][change.mask].mean() > 0.5:
        return "border"
    reach = max(reach_at(_shifted(change, window), registration.moved, border.shape), 1.5)
    if left_after_moving(change, before, relit, reach) < EXPLAINED:
        return "parallax"
    told = light_reason(change, before, relit, sharp_px, reach > 1.5) or other_light_on_the_same(change, difference)
    return told or ("faint" if change.peak < SURE_PEAK else "")

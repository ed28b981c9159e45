"""A return photo brought to its intake photo: laid over it, in its light, equally sharp, and their difference."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np

from condition.imaging.card_cover import covered_by, paper_corners
from condition.imaging.compared_region import clipped_in, instrument_in
from condition.imaging.difference import Difference, difference_of
from condition.imaging.overlay import laid_over
from condition.imaging.register import Registration, inside, register
from condition.imaging.sharpness import measure as sharpness
from condition.imaging.tone import fitted_tone, in_light_of
from condition.records.plane import SizeCard
from condition.records.shapes import Ring

BORDER_SHARE = 0.012
"""Width of the rounded rim, over the photo's longer side: light runs along it and the bench shows beside it."""
ROUND_PX = 24
USUAL_BLUR_PX = 0.9
WORTH_MATCHING_PX = 0.4


@dataclass(frozen=True, slots=True, eq=False)
class Alignment:
    """Two photos in one frame, sharpness and light, over the window of the intake photo that holds what is compared.

    before, relit : uint8 (h, w, 3)
    difference : over the window
    border : bool (h, w), the instrument's rounded rim
    sharp_px : blur of their own edges
    seen, cards, clipped, usable : bool (H, W), over the whole intake photo: in the return photo's frame, under a size
        card of either, burnt out in either, and compared
    """

    registration: Registration
    window: tuple[slice, slice]
    before: np.ndarray
    relit: np.ndarray
    difference: Difference
    border: np.ndarray
    sharp_px: float
    seen: np.ndarray
    cards: np.ndarray
    clipped: np.ndarray
    usable: np.ndarray


def aligned(
    before: np.ndarray,
    after: np.ndarray,
    before_cards: Sequence[SizeCard] = (),
    after_cards: Sequence[SizeCard] = (),
    outline_px: Ring | None = None,
    left_aside: Sequence[Ring] = (),
) -> Alignment:
    """Bring two upright sRGB photos, uint8 (H, W, 3), together.

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
    laid, seen = laid_over(after, registration.overlay)
    height, width = seen.shape
    cards = covered_by(before_cards, height, width) | _cards_laid(after_cards, registration, height, width)
    instrument = inside(outline_px, height, width) if outline_px else instrument_in(before, laid, seen, cards)
    usable = cv2.erode((seen & instrument).astype(np.uint8), np.ones((7, 7), np.uint8)) > 0
    clipped = clipped_in(before) | clipped_in(laid)
    usable &= ~cards & ~clipped
    for ring in left_aside:
        usable &= ~inside(ring, height, width)
    window = _window_of(usable)
    tone = fitted_tone(before[window], laid[window], usable[window])
    relit = in_light_of(laid[window], tone)
    del laid
    sharper, relit, sharp_px = _equally_sharp(before[window], relit)
    difference = difference_of(sharper, relit, usable[window], registration.local_px)
    border = _border(instrument, seen)[window]
    return Alignment(
        registration, window, sharper, relit, difference, border, sharp_px, seen, cards, clipped, usable
    )  # fmt: skip


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

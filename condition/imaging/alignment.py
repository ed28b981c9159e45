"""A return photo brought to its intake photo: laid over it, in its light, equally sharp, and their difference."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np

from condition.imaging.card_cover import covered_by, paper_corners
from condition.imaging.compared_region import burnt_in, instrument_in
from condition.imaging.cut_off import cut_alike
from condition.imaging.difference import Difference, difference_of
from condition.imaging.overlay import Overlay, laid_over
from condition.imaging.patches import Patches
from condition.imaging.register import Registration, inside, register
from condition.imaging.sharpness import measure as sharpness
from condition.imaging.tone import fitted_tone, in_light_of
from condition.records.plane import SizeCard
from condition.records.shapes import Ring

BORDER_SHARE = 0.012
"""Width of the rounded rim, over the photo's longer side: light runs along it and the bench shows beside it."""
ROUND_PX = 24
FRAME_PX = 8
"""Next to the picture's frame there is nothing to blur with."""
USUAL_BLUR_PX = 0.9
WORTH_MATCHING_PX = 0.4
SAME_LIGHT = 0.025
"""Unevenness of the gain that brings two photos to one light, where the lamps stood still."""
AS_IT_IS = 0.95
SHARP_PX, LEAST_FACTOR = 1.0, 0.4
"""A picture whose sharpest edges are blurred by more loses nothing when it is made smaller to this."""


@dataclass(frozen=True, slots=True, eq=False)
class Alignment:
    """Two photos in one frame, sharpness and light, over the window of the intake photo that holds what is compared.

    registration : between the full photos
    factor : size of the pictures here over the intake photo's; all else here is at that size
    window : of the picture
    difference : over the window, with both pictures
    border : bool (h, w) of the window, the instrument's rounded rim
    moved : patches that do not lie in the plane, in pixels of the window
    sharp_px : blur of the pictures' own edges
    lit_anew : whether the lamps stood elsewhere, as far as the surface tells
    seen, cards, burnt, usable : bool (H, W), over the whole picture: in the return photo's frame, under a size card of
        either, white without any drawing in either, and compared
    """

    registration: Registration
    factor: float
    window: tuple[slice, slice]
    difference: Difference
    border: np.ndarray
    moved: Patches
    sharp_px: float
    lit_anew: bool
    seen: np.ndarray
    cards: np.ndarray
    burnt: np.ndarray
    usable: np.ndarray

    @property
    def corner(self) -> np.ndarray:
        """Left and top of the window, px."""
        return np.array([self.window[1].start, self.window[0].start])

    def full_px(self, points: np.ndarray) -> np.ndarray:
        """Upright pixels of the full intake photo, of points (N, 2) in the window."""
        return (points + self.corner) / self.factor


def aligned(
    before: np.ndarray,
    after: np.ndarray,
    before_cards: Sequence[SizeCard] = (),
    after_cards: Sequence[SizeCard] = (),
    outline_px: Ring | None = None,
    left_aside: Sequence[Ring] = (),
    places_px: Sequence[np.ndarray] = (),
) -> Alignment:
    """Bring two upright sRGB photos, uint8 (H, W, 3), together.

    Parameters
    ----------
    before_cards, after_cards : size cards of each photo; they are kept out of both
    outline_px : the instrument's outline in the intake photo, where it is known; else it is found
    left_aside : regions of the intake photo that take no part, such as strings taken off
    places_px : rings (N, 2) in the intake photo that are known to lie on the instrument, with a little round them

    Raises
    ------
    Refused
        As :func:`condition.imaging.register.register`.
    """
    registration = register(before, after, before_cards, after_cards, outline_px)
    scale = registration.overlay.scale()
    blurs = [sharpness(picture).across_px for picture in (before, after)]
    factor, factor_after = _factors(blurs, scale)
    before, after = _smaller(before, factor), _smaller(after, factor_after)
    overlay = registration.overlay.at(factor, factor_after)
    laid, seen = laid_over(after, overlay)
    height, width = seen.shape
    before_cards = [_scaled_card(card, factor) for card in before_cards]
    after_cards = [_scaled_card(card, factor_after) for card in after_cards]
    cards = covered_by(before_cards, height, width) | _cards_laid(after_cards, overlay, height, width)
    if outline_px is None:
        instrument = instrument_in(before, laid, seen, cards)
    else:
        instrument = inside(scaled_ring(outline_px, factor), height, width)
    instrument = instrument | _around(places_px, factor, seen.shape)
    usable = cv2.erode((seen & instrument).astype(np.uint8), np.ones((7, 7), np.uint8)) > 0
    usable &= ~cards
    usable[:FRAME_PX], usable[-FRAME_PX:], usable[:, :FRAME_PX], usable[:, -FRAME_PX:] = False, False, False, False
    for ring in left_aside:
        usable &= ~inside(scaled_ring(ring, factor), height, width)
    window = _window_of(usable)
    tone = fitted_tone(before[window], laid[window], usable[window])
    relit = in_light_of(laid[window], tone)
    burnt = burnt_in(before) | burnt_in(laid)
    del laid
    at_work = [None if b is None else b * f for b, f in zip(blurs, (factor, factor / scale), strict=True)]
    sharper, relit, sharp_px = _equally_sharp(before[window], relit, at_work)
    relit, near_stop = cut_alike(sharper, relit, tone, usable[window])
    lit_anew = tone.unevenness > SAME_LIGHT
    difference = difference_of(sharper, relit, usable[window], None if lit_anew else near_stop, lit_anew)
    border = _border(instrument, seen)[window]
    moved = registration.moved
    moved = replace(
        moved,
        places=moved.places * factor - np.array([window[1].start, window[0].start]),
        shifts=moved.shifts * factor,
    )
    return Alignment(
        registration, factor, window, difference, border, moved, sharp_px, lit_anew, seen, cards, burnt, usable
    )  # fmt: skip


def _around(rings_px: Sequence[np.ndarray], factor: float, shape: tuple[int, int]) -> np.ndarray:
    mask = np.zeros(shape, np.uint8)
    for ring in rings_px:
        cv2.fillPoly(mask, [np.round(ring * factor - 0.5).astype(np.int32)], 1)
    return cv2.dilate(mask, np.ones((2 * ROUND_PX + 1,) * 2, np.uint8)) > 0 if len(rings_px) else mask > 0


def _factors(blurs: list[float | None], scale: float) -> tuple[float, float]:
    """How much smaller both photos can be made without loss: to the coarser one's pixels, and as far as the less sharp
    one's edges are blurred anyway; ``scale`` is return pixels an intake pixel."""
    factor = min(1.0, scale)
    if None not in blurs:
        blur = max(blurs[0], blurs[1] / scale)
        factor = min(factor, max(LEAST_FACTOR, SHARP_PX / blur))
    return tuple(1.0 if of_it > AS_IT_IS else of_it for of_it in (factor, factor / scale))


def _smaller(picture: np.ndarray, factor: float) -> np.ndarray:
    size = (round(picture.shape[1] * factor), round(picture.shape[0] * factor))
    return picture if factor == 1.0 else cv2.resize(picture, size, interpolation=cv2.INTER_AREA)


def _scaled_card(card: SizeCard, factor: float) -> SizeCard:
    return replace(card, corners_px=tuple((x * factor, y * factor) for x, y in card.corners_px))


def scaled_ring(ring: Ring, factor: float) -> Ring:
    points, *holes = (tuple((x * factor, y * factor) for x, y in loop) for loop in (ring.points, *ring.holes))
    return Ring(points, tuple(holes))


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


def _cards_laid(cards: Sequence[SizeCard], overlay: Overlay, height: int, width: int) -> np.ndarray:
    """The return photo's cards, in the intake photo's frame."""
    mask = np.zeros((height, width), np.uint8)
    for card in cards:
        corners = overlay.to_before(paper_corners(card))
        if np.isfinite(corners).all() and np.abs(corners).max() < 10 * max(height, width):
            cv2.fillConvexPoly(mask, np.round(corners - 0.5).astype(np.int32), 1)
    return mask > 0


def _equally_sharp(
    before: np.ndarray, relit: np.ndarray, blurs: list[float | None]
) -> tuple[np.ndarray, np.ndarray, float]:
    """Blur the sharper picture to the other's sharpness; and how blurred both are then, in px."""
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

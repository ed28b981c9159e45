"""Find the size cards of a photo: OpenCV's DICT_4X4_50, several settings merged so that no plain card is missed."""

from __future__ import annotations

import cv2
import numpy as np

from condition.imaging.card_code import card_bits, dictionary, reads_both_ways
from condition.imaging.card_sides import Corners, looks_printed, refined
from condition.records.plane import MIRRORED, SizeCard

REDUCED_PX = 1600
"""Longer side of the reduced picture in which most cards are found."""

_SETTINGS = (
    {},
    {"minMarkerDistanceRate": 0.05},
    {"polygonalApproxAccuracyRate": 0.05, "minMarkerDistanceRate": 0.05},
    {"adaptiveThreshWinSizeMin": 5, "adaptiveThreshWinSizeMax": 65, "adaptiveThreshWinSizeStep": 20},
)
"""One setting alone drops plain, well lit cards (it keeps the paper's edge instead of the square): these find them."""


def _detected(grey: np.ndarray, settings: dict[str, float]) -> list[tuple[int, np.ndarray]]:
    parameters = cv2.aruco.DetectorParameters()
    parameters.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_NONE
    for name, value in settings.items():
        setattr(parameters, name, value)
    corners, ids, _ = cv2.aruco.ArucoDetector(dictionary(), parameters).detectMarkers(grey)
    if ids is None:
        return []
    return [(int(i), quad.reshape(4, 2).astype(float) + 0.5) for i, quad in zip(ids.ravel(), corners, strict=True)]


def _size(quad: np.ndarray) -> float:
    return float(np.hypot(*(np.roll(quad, -1, axis=0) - quad).T).mean())


def _merged(found: list[tuple[int, np.ndarray]]) -> list[tuple[int, np.ndarray]]:
    kept: list[tuple[int, np.ndarray]] = []
    for i, quad in found:
        same = [k for k, (j, other) in enumerate(kept) if i == j and _near(quad, other)]
        if not same:
            kept.append((i, quad))
        elif _size(quad) > 1.02 * _size(kept[same[0]][1]):
            kept[same[0]] = (i, quad)
    return kept


def _near(first: np.ndarray, second: np.ndarray) -> bool:
    return bool(np.hypot(*(first.mean(0) - second.mean(0))) < 0.35 * max(_size(first), _size(second)))


def candidates(rgb: np.ndarray) -> list[tuple[int, np.ndarray]]:
    """Every (id, corners (4, 2) px) that any setting sees, at reduced and at full size, merged."""
    grey = cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY)
    longest = max(grey.shape)
    found: list[tuple[int, np.ndarray]] = []
    if longest > 1.25 * REDUCED_PX:
        factor = longest / REDUCED_PX
        size = (round(grey.shape[1] / factor), round(grey.shape[0] / factor))
        small = cv2.resize(grey, size, interpolation=cv2.INTER_AREA)
        back = np.array([grey.shape[1] / size[0], grey.shape[0] / size[1]])
        for settings in _SETTINGS:
            found += [(i, quad * back) for i, quad in _detected(small, settings)]
        found += _detected(grey, _SETTINGS[1])
    else:
        for settings in _SETTINGS:
            found += _detected(grey, settings)
        found += _detected(cv2.GaussianBlur(grey, (0, 0), 1.0), _SETTINGS[1])
    return _merged(found)


def find_cards(rgb: np.ndarray) -> tuple[SizeCard, ...]:
    """Find and measure the size cards of a photo.

    Parameters
    ----------
    rgb : upright sRGB, uint8, shape (H, W, 3)

    Returns
    -------
    One card a marker, by id. ``left_out`` tells of those not to be used: ``twice`` (two cards with one id),
    ``cut`` (the frame cuts it), ``covered`` (a side cannot be followed), ``mirrored`` (the photo was flipped left to
    right: all its cards read better in the mirror).
    """
    cards: list[SizeCard] = []
    for i, quad in candidates(rgb):
        corners = refined(rgb, quad)
        shape = corners.corners_px if corners else quad
        if looks_printed(rgb, shape, card_bits(i)):
            cards.append(_card(i, quad, corners))
    seen = [card.id for card in cards]
    cards = [_told(card, "twice") if seen.count(card.id) > 1 else card for card in cards]
    cards += [card for card in _cut(rgb) if card.id not in seen]
    if all(card.left_out or card.id in reads_both_ways() for card in cards):
        cards = _mirrored(rgb) or cards
    return tuple(sorted(cards, key=lambda card: card.id))


def _card(i: int, quad: np.ndarray, corners: Corners | None, why: str = "covered") -> SizeCard:
    places = quad if corners is None else corners.corners_px
    pairs = tuple((float(x), float(y)) for x, y in places)
    return SizeCard(i, pairs, 1.0 if corners is None else corners.sd_px, left_out=why if corners is None else "")


def _told(card: SizeCard, why: str) -> SizeCard:
    return SizeCard(card.id, card.corners_px, card.corner_sd_px, left_out=why)


def _cut(rgb: np.ndarray) -> list[SizeCard]:
    """Cards that run out of the frame by less than their black border: read on a picture continued beyond it."""
    height, width = rgb.shape[:2]
    factor = max(1.0, max(height, width) / 1000)
    size = (round(width / factor), round(height / factor))
    small = cv2.resize(cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY), size, interpolation=cv2.INTER_AREA)
    rim = 40
    found = []
    for dark in (3, 6, 10, 15, 22):
        framed = cv2.copyMakeBorder(small, dark, dark, dark, dark, cv2.BORDER_REPLICATE)
        framed = cv2.copyMakeBorder(framed, rim, rim, rim, rim, cv2.BORDER_CONSTANT, value=255)
        found += [(i, (quad - rim - dark) * factor) for i, quad in _detected(framed, _SETTINGS[1])]
    outside = [(i, quad) for i, quad in _merged(found) if (quad < 1).any() or (quad > (width - 1, height - 1)).any()]
    return [_card(i, quad, None, "cut") for i, quad in outside]


def _mirrored(rgb: np.ndarray) -> list[SizeCard]:
    """The cards of a photo that was flipped left to right; empty when none reads in the mirror alone."""
    factor = max(1.0, max(rgb.shape[:2]) / REDUCED_PX)
    small = cv2.resize(rgb, None, fx=1 / factor, fy=1 / factor, interpolation=cv2.INTER_AREA)
    flipped = np.ascontiguousarray(small[:, ::-1])
    grey = cv2.cvtColor(flipped, cv2.COLOR_RGB2GRAY)
    found = _merged(_detected(grey, _SETTINGS[0]) + _detected(grey, _SETTINGS[1]))
    read = [(i, quad) for i, quad in found if looks_printed(flipped, quad, card_bits(i))]
    if not any(i not in reads_both_ways() for i, _ in read):
        return []
    across = np.array([-1.0, 1.0]), np.array([small.shape[1], 0.0])
    return [_card(i, (quad * across[0] + across[1]) * factor, None, MIRRORED) for i, quad in read]

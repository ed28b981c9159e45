"""The black cells of a size card, from OpenCV's predefined dictionary DICT_4X4_50."""

from __future__ import annotations

from functools import cache

import cv2
import numpy as np

CARDS = 50
MODULES = 6
"""Cells along a side: four coded ones and the black border."""


@cache
def dictionary() -> cv2.aruco.Dictionary:
    return cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)


@cache
def reads_both_ways() -> frozenset[int]:
    """The cards that read the same in a mirror: they cannot tell that a photo was flipped."""
    return frozenset(
        i for i in range(CARDS) if any((np.rot90(card_bits(i)[:, ::-1], k) == card_bits(i)).all() for k in range(4))
    )


def card_bits(card_id: int) -> np.ndarray:
    """The (4, 4) inner cells of a card, 1 white and 0 black, as printed upright."""
    picture = cv2.aruco.generateImageMarker(dictionary(), card_id, MODULES)
    return (picture[1:5, 1:5] > 127).astype(np.uint8)

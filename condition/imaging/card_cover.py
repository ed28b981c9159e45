"""What of a photo the size cards cover, their white margins included."""

from __future__ import annotations

from collections.abc import Iterable

import cv2
import numpy as np

from condition.imaging.overlay import through
from condition.records.plane import SizeCard

MARKER_MM = 40.0
MARGIN_MM = 8.0
SPARE_MM = 4.0
"""Paper is cut by hand, and a card that does not lie flat throws a narrow shadow."""


def paper_corners(card: SizeCard, spare_mm: float = SPARE_MM) -> np.ndarray:
    """Corners (4, 2) px of a card's paper and a little more, in the marker's perspective."""
    out = MARGIN_MM + spare_mm
    marker = np.array([(0, 0), (1, 0), (1, 1), (0, 1)], np.float32) * MARKER_MM
    paper = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)]) * out + marker
    to_px = cv2.getPerspectiveTransform(marker, np.array(card.corners_px, np.float32))
    return through(to_px, paper)


def covered_by(cards: Iterable[SizeCard], height: int, width: int) -> np.ndarray:
    """bool (height, width), True on the cards and their margins."""
    mask = np.zeros((height, width), np.uint8)
    for card in cards:
        cv2.fillConvexPoly(mask, np.round((paper_corners(card) - 0.5) * 16).astype(np.int32), 1, shift=4)
    return mask.astype(bool)

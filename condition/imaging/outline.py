"""Take the outline of an instrument's body or headstock from a photo of one face."""

from __future__ import annotations

import cv2
import numpy as np

from condition.errors import Refused
from condition.imaging.colour_regions import cut, depth_inside, filled, largest_part
from condition.imaging.region_edge import region_edge
from condition.imaging.working_window import Window, window_of
from condition.records.shapes import Ring

CARD_QUIET_SHARE = 0.45
"""White paper round a marker, over the marker's side, that is masked with it."""
FRAME_SHARE = 0.02
"""Strip along the photo's border that is taken for the bench where no hint is given."""
CENTRE_SHARE = 0.12
LEAST_SHARE, MOST_SHARE = 0.02, 0.97
HINT_SLACK_SHARE = 0.08
OPENING_SHARE = 0.012


def outline(rgb: np.ndarray, cards: tuple[Ring, ...] = (), hint: Ring | None = None) -> Ring:
    """Return the outline of the one large thing in the middle of the photo, for correction by dragging.

    Parameters
    ----------
    rgb : uint8, shape (H, W, 3), the upright photo
    cards : the size cards' markers, upright-photo pixels: never part of the instrument
    hint : a rough outline, within about a tenth of the extent of the true one

    Raises
    ------
    Refused
        Nothing stands out from the bench.

    Source: GrabCut (Rother, Kolmogorov and Blake 2004), the border taken for bench and the middle for instrument.
    """
    height, width = rgb.shape[:2]
    window = window_of(rgb, 0, 0, width, height)
    masked = _masked(window, cards)
    labels = _from_frame(window) if hint is None else _from_hint(window, hint)
    labels[masked] = cv2.GC_BGD
    mask = cut(window.rgb, labels) & ~masked
    mask = _opened(mask)
    mask = filled(largest_part(mask), least_hole_share=1.0)
    if not LEAST_SHARE < mask.mean() < MOST_SHARE:
        raise Refused("assist.no_outline")
    ring = region_edge(rgb, window, mask)
    return Ring(ring.points)


def _masked(window: Window, cards: tuple[Ring, ...]) -> np.ndarray:
    mask = np.zeros(window.rgb.shape[:2], bool)
    for card in cards:
        corners = np.array(card.points)
        middle = corners.mean(axis=0)
        wider = middle + (corners - middle) * (1 + CARD_QUIET_SHARE)
        mask |= window.painted(Ring(tuple(map(tuple, wider.tolist()))))
    return mask


def _from_frame(window: Window) -> np.ndarray:
    """Label the border sure bench, the middle sure instrument, the rest by which of the two its colour is nearer."""
    rows, columns = window.rgb.shape[:2]
    labels = np.full((rows, columns), cv2.GC_PR_FGD, np.uint8)
    frame = max(2, int(FRAME_SHARE * min(rows, columns)))
    inner = np.zeros((rows, columns), bool)
    inner[frame:-frame, frame:-frame] = True
    labels[~inner] = cv2.GC_BGD
    half_row, half_column = int(rows * CENTRE_SHARE), int(columns * CENTRE_SHARE)
    middle = (
        slice(rows // 2 - half_row, rows // 2 + half_row),
        slice(columns // 2 - half_column, columns // 2 + half_column),
    )
    labels[middle] = cv2.GC_FGD
    return labels


def _from_hint(window: Window, hint: Ring) -> np.ndarray:
    drawn = window.painted(hint)
    slack = HINT_SLACK_SHARE * np.sqrt(max(1, drawn.sum()))
    labels = np.where(drawn, cv2.GC_PR_FGD, cv2.GC_PR_BGD).astype(np.uint8)
    labels[depth_inside(drawn) > slack] = cv2.GC_FGD
    labels[depth_inside(~drawn) > slack] = cv2.GC_BGD
    return labels


def _opened(mask: np.ndarray) -> np.ndarray:
    """Cut off what hangs on by a thread, such as a strap button's shadow or grain of the bench."""
    size = max(1, int(OPENING_SHARE * min(mask.shape))) * 2 + 1
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size))
    return cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_OPEN, kernel).astype(bool)

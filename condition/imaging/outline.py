"""Take the outline of an instrument's body or headstock from a photo of one face."""

from __future__ import annotations

import cv2
import numpy as np

from condition.errors import Refused
from condition.imaging.colour_regions import (
    boundary_strength,
    cut,
    depth_inside,
    filled,
    largest_part,
    log_density,
    rim_of,
)
from condition.imaging.lightness import lab_of
from condition.imaging.outline_parts import shadow_beside, without_neck
from condition.imaging.region_edge import region_edge
from condition.imaging.rim_support import loose_share
from condition.imaging.working_window import Window, window_of
from condition.records.shapes import Ring

CARD_QUIET_SHARE = 0.45
"""White paper round a marker, over the marker's side, that is masked with it."""
FRAME_SHARE = 0.03
"""Strip along the photo's border that is taken for the bench where no hint is given."""
RAREST_PERCENT = 3.0
LEAST_SHARE, MOST_SHARE = 0.02, 0.97
SLACK_SHARES = (0.08, 0.04)
"""How far the edge may move from the rough outline, then again, over the square root of its area."""
SURE_SHADOW_SHARE = 0.2
"""What looks like shadow and is more than this share of the whole may be dark instrument: of the outlines with it and
without it, the one that has more edge under it counts."""
OPENING_SHARE = 0.025
FITTING_SHARE = 0.02
"""Gaps up to this share of the area are fittings; larger ones may be bench, enclosed by a tool that lies against it."""
LEAST_EDGE = 1.0
"""Mean colour gradient along the outline, Lab a pixel at working scale: less is no edge but noise."""


def outline(rgb: np.ndarray, cards: tuple[Ring, ...] = (), hint: Ring | None = None) -> Ring:
    """Return the outline of the one large thing in the middle of the photo, for correction by dragging.

    A neck that leaves the photo is cut off at the shoulder, shadow on the bench is left out.

    Parameters
    ----------
    rgb : uint8, shape (H, W, 3), the upright photo
    cards : the size cards' markers, upright-photo pixels: on the instrument or beside it, never a part of it
    hint : a rough outline, within about a tenth of the extent of the true one

    Raises
    ------
    Refused
        Nothing stands out from the bench.

    Source: GrabCut (Rother, Kolmogorov and Blake 2004), started from the colours that the photo's border does not have.
    """
    height, width = rgb.shape[:2]
    window = window_of(rgb, 0, 0, width, height)
    papers = [_paper(window, card) for card in cards]
    covered = np.logical_or.reduce(papers) if papers else np.zeros(window.rgb.shape[:2], bool)
    drawn = _unlike_the_border(window, covered) if hint is None else window.painted(hint)
    beside = np.zeros_like(covered)
    for paper in papers:
        if not _lies_on(paper, drawn, covered):
            beside |= paper
    mask = _one_thing((drawn | covered) & ~beside)
    if hint is not None or not mask.any():
        return _settled(rgb, window, mask, covered & ~beside, beside)
    body = without_neck(mask)
    shadow = shadow_beside(window.rgb, body, _frame(mask.shape) & ~mask & ~covered)
    rest = beside | (mask & ~body)
    tried = [(body & ~shadow, rest | shadow)]
    if shadow.sum() >= SURE_SHADOW_SHARE * body.sum():
        tried.append((body, rest))
    found = []
    for rough, away in tried:
        try:
            found.append(_settled(rgb, window, _one_thing(rough), covered & ~beside, away))
        except Refused as refusal:
            refused = refusal
    if not found:
        raise refused
    return min(found, key=lambda ring: loose_share(rgb, ring)) if len(found) > 1 else found[0]


def _settled(rgb: np.ndarray, window: Window, mask: np.ndarray, sure: np.ndarray, away: np.ndarray) -> Ring:
    """Cut the thing out closer and closer to a rough mask of it; ``sure`` is part of it, ``away`` is not."""
    for slack in SLACK_SHARES:
        if not LEAST_SHARE < mask.mean() < MOST_SHARE:
            raise Refused("assist.no_outline")
        labels = _within(mask, slack)
        labels[away] = cv2.GC_BGD
        labels[sure] = cv2.GC_FGD
        mask = _one_thing(cut(window.rgb, labels) & ~away)
    rim = rim_of(mask)
    if not mask[mask.shape[0] // 2, mask.shape[1] // 2]:
        raise Refused("assist.no_outline")
    if not rim.any() or boundary_strength(lab_of(window.rgb))[rim].mean() < LEAST_EDGE:
        raise Refused("assist.no_outline")
    return Ring(region_edge(rgb, window, mask).points)


def _unlike_the_border(window: Window, masked: np.ndarray) -> np.ndarray:
    """Return the pixels whose colour is rarer along the photo's border than nearly all of the border's own."""
    border = _frame(window.rgb.shape[:2]) & ~masked
    density = cv2.GaussianBlur(log_density(lab_of(window.rgb), border), (0, 0), 1.5)
    return density < np.percentile(density[border], RAREST_PERCENT)


def _frame(shape: tuple[int, int]) -> np.ndarray:
    """Return the strip along the border, bool (H, W)."""
    breadth = max(3, int(FRAME_SHARE * min(shape)))
    frame = np.ones(shape, bool)
    frame[breadth:-breadth, breadth:-breadth] = False
    return frame


def _one_thing(mask: np.ndarray) -> np.ndarray:
    """Return the largest part of a mask, its holes filled, cut off from what hangs on by a thread."""
    size = max(1, int(OPENING_SHARE * min(mask.shape))) * 2 + 1
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size))
    solid = filled(largest_part(mask), least_hole_share=FITTING_SHARE)
    opened = cv2.morphologyEx(solid.astype(np.uint8), cv2.MORPH_OPEN, kernel).astype(bool)
    return filled(largest_part(opened), least_hole_share=1.0)


def _paper(window: Window, card: Ring) -> np.ndarray:
    """Return the pixels of a card with the white paper round its marker."""
    corners = np.array(card.points)
    middle = corners.mean(axis=0)
    wider = middle + (corners - middle) * (1 + CARD_QUIET_SHARE)
    return window.painted(Ring(tuple(map(tuple, wider.tolist()))))


def _lies_on(paper: np.ndarray, drawn: np.ndarray, covered: np.ndarray) -> bool:
    """Say whether most of what is seen round a card is instrument."""
    around = cv2.dilate(paper.astype(np.uint8), np.ones((9, 9), np.uint8)).astype(bool) & ~covered
    return bool(around.any() and drawn[around].mean() > 0.5)


def _within(mask: np.ndarray, slack_share: float) -> np.ndarray:
    """Label what lies deeper than a share of the extent inside or outside as sure."""
    slack = slack_share * np.sqrt(mask.sum())
    labels = np.where(mask, cv2.GC_PR_FGD, cv2.GC_PR_BGD).astype(np.uint8)
    labels[depth_inside(mask) > slack] = cv2.GC_FGD
    labels[depth_inside(~mask) > slack] = cv2.GC_BGD
    return labels

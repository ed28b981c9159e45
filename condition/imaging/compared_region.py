"""Which part of two photos can be compared: the instrument, without the bench, the cards and what is burnt out.

Source: GrabCut (Rother, Kolmogorov and Blake, ACM Transactions on Graphics 23(3), 2004), told what is instrument by
where the photos agree once the instrument lies over itself, and what is bench by where they do not.
"""

from __future__ import annotations

import cv2
import numpy as np

WORKING_SIDE_PX = 500
WINDOW_PX = 13
AGREES, DISAGREES = 0.55, 0.2
"""Local correlation of fine lightness."""
FINER_PX = 2.5
"""At the working size; the soft shadows on a bench are coarser, and agree by chance."""
LEAST_CONTRAST = 1.5
"""Grey levels of spread in a window that is not plain."""
PLAIN_CONTRAST = 4.0
"""What noise and a coarse weave have less of."""
BAND = 0.1
BENCH_SHARE = 0.3
"""Share of the picture's border that has to disagree before a bench is looked for."""
DIFFERING_SHARE = 0.12
REACH_SHARE = 0.01
"""How far beyond where the photos agree the instrument may go on, over the longer side."""
CLIPPED = 247


def burnt_in(rgb: np.ndarray) -> np.ndarray:
    """bool (H, W): white, so that nothing of the surface shows; uint8 (H, W, 3) in."""
    return rgb.min(2) >= CLIPPED


def agreement(before: np.ndarray, laid: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Local correlation -1..1 of two grey pictures (H, W) and their lesser local spread, float32 (H, W)."""
    one, other = (
        picture - cv2.GaussianBlur(picture, (0, 0), FINER_PX)
        for picture in (before.astype(np.float32), laid.astype(np.float32))
    )

    def mean(values: np.ndarray) -> np.ndarray:
        return cv2.blur(values, (WINDOW_PX, WINDOW_PX))

    mean_one, mean_other = mean(one), mean(other)
    var_one = np.maximum(mean(one * one) - mean_one**2, 0)
    var_other = np.maximum(mean(other * other) - mean_other**2, 0)
    together = mean(one * other) - mean_one * mean_other
    return together / np.sqrt(var_one * var_other + 1e-3), np.sqrt(np.minimum(var_one, var_other))


def instrument_in(before: np.ndarray, laid: np.ndarray, seen: np.ndarray, cards: np.ndarray) -> np.ndarray:
    """Where the instrument lies in the intake photo, bool (H, W).

    Parameters
    ----------
    before, laid : uint8 (H, W, 3), the return photo in the intake photo's frame
    seen : bool (H, W), where the return photo shows the place
    cards : bool (H, W), cards of either photo

    All of what is seen, when the photos agree out to the border: a close-up shows no bench.
    """
    height, width = seen.shape
    factor = min(1.0, WORKING_SIDE_PX / max(height, width))
    size = (max(8, round(width * factor)), max(8, round(height * factor)))
    one, other = (cv2.resize(picture, size, interpolation=cv2.INTER_AREA) for picture in (before, laid))
    both = cv2.resize(seen.astype(np.uint8), size, interpolation=cv2.INTER_NEAREST) > 0
    papers = cv2.resize(cards.astype(np.uint8), size, interpolation=cv2.INTER_NEAREST) > 0
    match, spread = agreement(*(cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY) for picture in (one, other)))
    sure = both & ~cv2.dilate(papers.astype(np.uint8), np.ones((WINDOW_PX, WINDOW_PX))).astype(bool)
    agrees = sure & (match > AGREES) & (spread > LEAST_CONTRAST)
    core = _core(agrees)
    differs = both & (match < DISAGREES) & (spread > PLAIN_CONTRAST)
    if core is None or not _has_bench(core, both, papers.any(), differs):
        return seen
    labels = np.full(both.shape, cv2.GC_PR_BGD, np.uint8)
    whole = _filled(core)
    labels[whole] = cv2.GC_PR_FGD
    labels[cv2.erode(whole.astype(np.uint8), np.ones((WINDOW_PX, WINDOW_PX), np.uint8)) > 0] = cv2.GC_FGD
    reach = round(REACH_SHARE * max(size))
    far = cv2.dilate(whole.astype(np.uint8), np.ones((2 * reach + 1,) * 2, np.uint8)) == 0
    labels[far | ~both] = cv2.GC_BGD
    labels[papers & ~whole] = cv2.GC_BGD
    if not (labels == cv2.GC_BGD).any():
        return seen
    cv2.setRNGSeed(1)
    cv2.grabCut(one[..., ::-1].copy(), labels, None, np.zeros((1, 65)), np.zeros((1, 65)), 4, cv2.GC_INIT_WITH_MASK)
    found = np.isin(labels, (cv2.GC_FGD, cv2.GC_PR_FGD)).astype(np.uint8)
    found = cv2.morphologyEx(found, cv2.MORPH_OPEN, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (7, 7)))
    found = _filled(_largest(found > 0))
    grown = cv2.resize(found.astype(np.float32), (width, height), interpolation=cv2.INTER_LINEAR) > 0.5
    return grown & seen


def _core(agrees: np.ndarray) -> np.ndarray | None:
    """The part round the middle where the photos agree, its gaps closed."""
    reach = max(3, round(0.02 * max(agrees.shape))) * 2 + 1
    closed = cv2.morphologyEx(agrees.astype(np.uint8), cv2.MORPH_CLOSE, np.ones((reach, reach), np.uint8))
    opened = cv2.morphologyEx(closed, cv2.MORPH_OPEN, np.ones((5, 5), np.uint8))
    return _largest(opened > 0) if opened.any() else None


def _has_bench(core: np.ndarray, both: np.ndarray, cards: bool, differs: np.ndarray) -> bool:
    """Whether the photos stop agreeing before the border, and cards or what differs there say that a bench is seen."""
    band = np.zeros_like(both)
    rim = max(2, round(BAND * min(both.shape)))
    band[:rim], band[-rim:], band[:, :rim], band[:, -rim:] = True, True, True, True
    band &= both
    if not band.any() or (band & ~_hull(core)).sum() <= BENCH_SHARE * band.sum():
        return False
    return bool(cards or (band & differs).sum() > DIFFERING_SHARE * band.sum())


def _largest(mask: np.ndarray) -> np.ndarray:
    _, labels, stats, _ = cv2.connectedComponentsWithStats(mask.astype(np.uint8), connectivity=8)
    return labels == 1 + int(np.argmax(stats[1:, cv2.CC_STAT_AREA])) if len(stats) > 1 else mask


def _hull(mask: np.ndarray) -> np.ndarray:
    out = np.zeros(mask.shape, np.uint8)
    cv2.fillConvexPoly(out, cv2.convexHull(np.argwhere(mask)[:, ::-1].astype(np.int32)), 1)
    return out > 0


def _filled(mask: np.ndarray) -> np.ndarray:
    loops, _ = cv2.findContours(mask.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    out = np.zeros(mask.shape, np.uint8)
    cv2.drawContours(out, loops, -1, 1, cv2.FILLED)
    return out > 0

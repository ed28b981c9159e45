"""Tell a changed surface from changed light: a mirrored lamp, or a shadow.

A mirror image adds the lamp's own light in all channels and fades out; a shadow takes the same share of all channels
and fades out. Paint, wood and holes have edges as sharp as the photo's own.
"""

from __future__ import annotations

from typing import Literal

import cv2
import numpy as np

from condition.imaging.change import Change, lab_steps, placed_in, widened
from condition.imaging.colour import LINEAR_OF_BYTE, ciede2000, coded, lab, linear
from condition.imaging.difference import Difference

EDGE_SHARE = 0.3
"""Share of a region's height that it climbs within one sharp edge: a soft border climbs less."""
ONE_WAY = 0.85
"""Share of the region's difference that goes one way: a dent is brighter on one side and darker on the other."""
NEUTRAL = 0.35
"""How unequal the channels may be, over their mean."""
LEAST_RATIO = 0.03
BROAD_PX = 10
"""Thickness, in blurs of the photo's own edges, from which evenly added light is a lamp's image and no scratch."""
STILL_THERE = 0.2
"""Share of the steeper photo's edges that the other shows at the same place: strings, frets, grain and metal stay where
they are and look different in other light; a hole, a crack or a chip is in one photo only."""
OUTSIDE_PX = 10
OUTSTANDING = 1.5
"""Steepness along a region's border over that of its surroundings."""
LEAST_EDGE = 1.2
"""Lightness a pixel of an edge worth the name."""
EXPLAINED_DELTA_E = 5.0
"""CIEDE2000 that more or less of the same light, and the lamp's own light added, leave unexplained."""


def light_of_lab(colour: np.ndarray) -> np.ndarray:
    """Linear sRGB light (3,) of one L*a*b* colour, D65, clipped to what a screen shows."""
    pixel = cv2.cvtColor(colour.astype(np.float32).reshape(1, 1, 3), cv2.COLOR_LAB2RGB)
    return linear(np.clip(pixel.reshape(3).astype(float), 0, 1))


def lab_of_light(light: np.ndarray) -> np.ndarray:
    """L*a*b* (3,) of linear sRGB light (3,)."""
    return lab(coded(np.clip(light, 0, 1)))


def light_reason(
    change: Change, before: np.ndarray, relit: np.ndarray, sharp_px: float, near_raised: bool, lit_anew: bool
) -> Literal["", "reflection", "shadow"]:
    """Return why the region is likely no change of the surface, or nothing.

    Parameters
    ----------
    before, relit : uint8 (H, W, 3), one frame, one light
    sharp_px : blur of the photos' own edges
    near_raised : whether a part that stands proud lies beside it
    lit_anew : whether the lamps stood elsewhere; if not, only a soft border speaks for light
    """
    reach = max(6, round(4 * sharp_px))
    rows, columns = change.window
    window = (
        slice(max(0, rows.start - reach), rows.stop + reach),
        slice(max(0, columns.start - reach), columns.stop + reach),
    )
    mask = np.zeros(before[window].shape[:2], bool)
    top, left = rows.start - window[0].start, columns.start - window[1].start
    mask[top : top + change.mask.shape[0], left : left + change.mask.shape[1]] = change.mask
    one, two = LINEAR_OF_BYTE[before[window]], LINEAR_OF_BYTE[relit[window]]
    added = two - one
    level = added.mean(2)
    inside, size = level[mask], np.abs(level[mask]).sum()
    if mask.sum() < 60 or not size:
        return ""
    sign = 1.0 if inside.sum() > 0 else -1.0
    if np.abs(inside[np.sign(inside) == sign]).sum() < ONE_WAY * size:
        return ""
    surface = cv2.GaussianBlur(one.mean(2), (0, 0), 2.0)
    own = cv2.magnitude(cv2.Sobel(surface, cv2.CV_32F, 1, 0), cv2.Sobel(surface, cv2.CV_32F, 0, 1))
    darker = one if sign > 0 else two
    lit = np.median(added[mask] * sign, axis=0)
    ratio = lit / np.maximum(np.median(darker[mask], axis=0), 1e-4)
    if (lit <= 0).any() or ratio.mean() < LEAST_RATIO:
        return ""
    spread_added = float(np.ptp(lit) / lit.mean())
    spread_ratio = float(np.ptp(ratio) / ratio.mean())
    thickness = 2 * float(cv2.distanceTransform(mask.astype(np.uint8), cv2.DIST_L2, 3).max())
    if (
        lit_anew
        and spread_added < NEUTRAL
        and spread_added < spread_ratio
        and thickness > BROAD_PX * max(sharp_px, 0.6)
    ):
        return "reflection"
    if not _is_soft(level * sign, own, mask, sharp_px):
        return ""
    if spread_added < spread_ratio and spread_added < 1.5 * NEUTRAL:
        return "reflection"
    if spread_ratio < NEUTRAL and (near_raised or mask.sum() > 400 * sharp_px**2):
        return "shadow"
    return ""


def _is_soft(level: np.ndarray, own: np.ndarray, mask: np.ndarray, sharp_px: float) -> bool:
    """Whether the region's border climbs slower than an edge of the photo's own sharpness would.

    own : steepness of the surface itself; where that is great, the border says nothing of the light
    """
    smooth = cv2.GaussianBlur(level, (0, 0), max(1.0, sharp_px))
    height = float(np.quantile(smooth[mask], 0.8)) - float(np.median(smooth[~mask]) if (~mask).any() else 0.0)
    kernel = np.ones((3, 3), np.uint8)
    border = (
        cv2.dilate(mask.astype(np.uint8), kernel, iterations=2) - cv2.erode(mask.astype(np.uint8), kernel, iterations=2)
        > 0
    )
    slope = cv2.magnitude(
        cv2.Sobel(smooth, cv2.CV_32F, 1, 0, scale=1 / 8), cv2.Sobel(smooth, cv2.CV_32F, 0, 1, scale=1 / 8)
    )
    blur = np.hypot(max(1.0, sharp_px), sharp_px)
    steepest = height / (np.sqrt(2 * np.pi) * blur)
    return bool(height > 0 and np.quantile(slope[border], 0.75) < EDGE_SHARE * steepest)


def other_light_on_the_same(change: Change, difference: Difference) -> Literal["", "reflection", "shadow"]:
    """Why a place that both photos show with edges of like strength looks different, where other light explains it.

    The colours inside are taken as ``after = share * before + added``, one share and one neutral addition (dichromatic
    reflection: Shafer, Color Research and Application 10(4), 1985).
    """
    window = widened(change.window, OUTSIDE_PX, difference.departure.shape)
    mask = placed_in(change.window, change.mask, window)
    before, step = lab_steps(difference, window, mask)
    after = before + step
    if not _keeps_its_edges(before[..., 0], after[..., 0], mask):
        return ""
    before, after = before[mask], after[mask]
    colours = [np.median(one, axis=0).astype(float) for one in (before, after)]
    one, two = (light_of_lab(colour) for colour in colours)

    def left_over(explained: np.ndarray) -> float:
        return float(ciede2000(lab_of_light(explained)[None], colours[1][None])[0])

    terms = np.column_stack([one, np.ones(3)])
    if left_over(terms @ np.linalg.lstsq(terms, two, rcond=None)[0]) > EXPLAINED_DELTA_E:
        return ""
    by_share, by_addition = one * (one @ two) / max(float(one @ one), 1e-9), one + (two - one).mean()
    return "reflection" if left_over(by_addition) < left_over(by_share) else "shadow"


def _keeps_its_edges(before: np.ndarray, after: np.ndarray, mask: np.ndarray) -> bool:
    """Whether the region's border runs along edges that both photos show there, and not beside it."""
    kernel = np.ones((3, 3), np.uint8)
    grown = mask.astype(np.uint8)
    border = (cv2.dilate(grown, kernel, iterations=2) - cv2.erode(grown, kernel)) > 0
    near = cv2.dilate(grown, kernel, iterations=4) > 0
    beside = ~near & (cv2.dilate(grown, kernel, iterations=OUTSIDE_PX) > 0)
    if not beside.any():
        return False
    along, around = [], []
    for lightness in (before, after):
        steepness = cv2.magnitude(*_slopes(lightness))
        along.append(float(steepness[border].mean()))
        around.append(float(np.median(steepness[beside])))
    stands_out = min(a / max(b, 0.3) for a, b in zip(along, around, strict=True))
    return stands_out > OUTSTANDING and min(along) > max(LEAST_EDGE, STILL_THERE * max(along))


def _slopes(picture: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    picture = np.ascontiguousarray(picture)
    return cv2.Sobel(picture, cv2.CV_32F, 1, 0, scale=1 / 8), cv2.Sobel(picture, cv2.CV_32F, 0, 1, scale=1 / 8)

"""Whether a place stands alone as changed among surface that both photos show alike, once the lamps have moved.

Moved lamps leave differences all over metal, round strings and beside raised parts; a hole, a dent or a chip lies in
surface that matches.
"""

from __future__ import annotations

from typing import Literal

import cv2
import numpy as np

from condition.imaging.change import Change, extent_of, lab_steps, placed_in, widened
from condition.imaging.difference import Difference
from condition.imaging.light_change import light_of_lab

NEAR_PX, FAR_PX = 3, 14
"""The surroundings looked at: from here to there beyond the outline."""
UNSETTLED = 0.3
"""Size of the difference in the surroundings (their 80th percentile) over that inside (its median)."""
SLIGHT_DELTA_E = 6.0
GLINT_LIGHTNESS = 8.0
GLINT_NEUTRAL = 0.6
"""How unequal the channels of added light may be, over their mean: lamps are warmer and cooler."""
THIN = 7.0
"""Length over width of a string, a lead, or light along an edge."""


def lone_reason(change: Change, difference: Difference) -> Literal["", "reflection", "thin", "unsettled", "slight"]:
    """Why a difference between two photos in different light may be no change of the surface, or nothing."""
    if change.delta_e < SLIGHT_DELTA_E:
        return "slight"
    window = widened(change.window, FAR_PX + 2, difference.departure.shape)
    mask = placed_in(change.window, change.mask, window)
    if change.offset[0] > 0 and _is_thin(mask):
        return "thin"
    before, step = lab_steps(difference, window, mask)
    size = np.linalg.norm(step, axis=2)
    grown = mask.astype(np.uint8)
    beside = cv2.dilate(grown, _disc(FAR_PX)) > cv2.dilate(grown, _disc(NEAR_PX))
    if beside.any() and _is_glint(change, float(np.median(before[..., 0][beside]))):
        return "reflection"
    inside = float(np.median(size[mask]))
    if beside.any() and float(np.quantile(size[beside], 0.8)) > UNSETTLED * inside:
        return "unsettled"
    return ""


def _is_glint(change: Change, around: float) -> bool:
    """Whether the lamp's own light comes or goes on something that is then lighter than its surroundings: metal."""
    after = change.colour + change.offset
    if max(change.colour[0], after[0]) < around + GLINT_LIGHTNESS:
        return False
    added = light_of_lab(after) - light_of_lab(change.colour)
    return bool(np.ptp(added) < GLINT_NEUTRAL * abs(float(added.mean())))


def _disc(radius: int) -> np.ndarray:
    return cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * radius + 1, 2 * radius + 1))


def _is_thin(mask: np.ndarray) -> bool:
    length, width = extent_of(mask)
    return length > THIN * max(1.0, width)

"""Tell a changed surface from one that only shows elsewhere, because it stands proud or lies deep.

Each place of one photo is looked for again in the other within a reach, both ways; what is found again has moved, not
changed. A mark that is in one photo only is not found.
"""

from __future__ import annotations

import cv2
import numpy as np

from condition.imaging.change import Change, widened
from condition.imaging.patches import Patches

BOX_PX = 5
EXPLAINED = 0.3
"""What is left of the difference, over what was there: below, the place has moved."""
NEAR_SHARE = 0.07
"""How near a moved patch speaks for a region, over the longer side."""
LEAST_SHIFT_PX = 1.0
MOST_SHIFT_PX = 40.0


def reach_at(change: Change, moved: Patches, shape: tuple[int, ...]) -> float:
    """How far things near a region have moved, in px: 0 when every patch near it lies in the plane."""
    rows, columns = change.window
    if not len(moved.places):
        return 0.0
    x, y = moved.places.T
    gap_x = np.maximum(0, np.maximum(columns.start - x, x - columns.stop))
    gap_y = np.maximum(0, np.maximum(rows.start - y, y - rows.stop))
    near = np.hypot(gap_x, gap_y) < NEAR_SHARE * max(shape[:2])
    shifts = np.hypot(*moved.shifts[near].T)
    shifts = shifts[shifts > LEAST_SHIFT_PX]
    return float(min(MOST_SHIFT_PX, 1.3 * shifts.max() + 1.0)) if len(shifts) else 0.0


def left_after_moving(change: Change, before: np.ndarray, relit: np.ndarray, reach_px: float) -> float:
    """Share 0..1 of a region's difference that no shift within the reach explains, the worse of both directions.

    before, relit : uint8 (H, W, 3), one frame, one light
    """
    reach = int(np.ceil(reach_px))
    window = widened(change.window, 2 * reach + BOX_PX, before.shape)
    by = max(1, reach // 10)
    one, two = (_reduced(picture[window], by) for picture in (before, relit))
    top, left = change.window[0].start - window[0].start, change.window[1].start - window[1].start
    mask = np.zeros((window[0].stop - window[0].start, window[1].stop - window[1].start), np.uint8)
    mask[top : top + change.mask.shape[0], left : left + change.mask.shape[1]] = change.mask
    mask = cv2.resize(mask, one.shape[1::-1], interpolation=cv2.INTER_NEAREST) > 0 if by > 1 else mask > 0
    if not mask.any():
        return 1.0
    there = _apart(one, two)[mask].mean()
    steps = int(np.ceil(reach / by))
    near = cv2.dilate(mask.astype(np.uint8), np.ones((3, 3), np.uint8)) > 0
    left_over = []
    for first, second in ((one, two), (two, one)):
        least = np.full(mask.shape, np.inf, np.float32)
        for dy in range(-steps, steps + 1):
            for dx in range(-steps, steps + 1):
                if dx * dx + dy * dy <= steps * steps:
                    np.minimum(least, _apart(first, _shifted(second, dx, dy)), out=least)
        left_over.append(least[mask & near].mean() / max(there, 1e-6))
    return float(max(left_over))


def _reduced(picture: np.ndarray, by: int) -> np.ndarray:
    picture = picture.astype(np.float32)
    return cv2.resize(picture, None, fx=1 / by, fy=1 / by, interpolation=cv2.INTER_AREA) if by > 1 else picture


def _shifted(picture: np.ndarray, dx: int, dy: int) -> np.ndarray:
    """The picture moved so that what lay at (x + dx, y + dy) lies at (x, y); its border is repeated."""
    rows = np.clip(np.arange(picture.shape[0]) + dy, 0, picture.shape[0] - 1)
    columns = np.clip(np.arange(picture.shape[1]) + dx, 0, picture.shape[1] - 1)
    return picture[rows[:, None], columns]


def _apart(one: np.ndarray, two: np.ndarray) -> np.ndarray:
    """Mean distance of the colours in a small box, float32 (H, W)."""
    return cv2.blur(np.abs(one - two).sum(2), (BOX_PX, BOX_PX))

"""Tell a changed surface from one that only shows elsewhere, because it stands proud or lies deep.

Each place of one photo is looked for again in the other within a reach, both ways; what is found again has moved, not
changed. A mark that is in one photo only is not found.
"""

from __future__ import annotations

import cv2
import numpy as np

from condition.imaging.change import Change, placed_in, widened
from condition.imaging.patches import Patches

BOX_PX = 5
LOOKED_AT_PX = 300
"""A larger region is looked at reduced to about this."""
EXPLAINED = 0.3
"""What is left of the difference, over what was there: below, the place has moved."""
NEAR_SHARE = 0.07
"""How near a moved patch speaks for a region, over the longer side."""
LEAST_SHIFT_PX = 1.0
MOST_SHIFT_PX = 40.0


def reach_at(change: Change, moved: Patches, side_px: float) -> float:
    """How far things near a region have moved, in px: 0 when every patch near it lies in the plane.

    side_px : the picture's longer side
    """
    rows, columns = change.window
    if not len(moved.places):
        return 0.0
    x, y = moved.places.T
    gap_x = np.maximum(0, np.maximum(columns.start - x, x - columns.stop))
    gap_y = np.maximum(0, np.maximum(rows.start - y, y - rows.stop))
    near = np.hypot(gap_x, gap_y) < NEAR_SHARE * side_px
    shifts = np.hypot(*moved.shifts[near].T)
    shifts = shifts[shifts > LEAST_SHIFT_PX]
    return float(min(MOST_SHIFT_PX, 1.3 * shifts.max() + 1.0)) if len(shifts) else 0.0


def left_after_moving(change: Change, before: np.ndarray, relit: np.ndarray, reach_px: float) -> float:
    """Share 0..1 of a region's difference that no shift within the reach explains, the worse of both directions.

    before, relit : uint8 (H, W, 3), one frame, one light
    """
    reach = int(np.ceil(reach_px))
    window = widened(change.window, 2 * reach + BOX_PX, before.shape)
    rows, columns = (part.stop - part.start for part in window)
    by = max(1, reach // 8, max(rows, columns) // LOOKED_AT_PX)
    size = (max(1, columns // by), max(1, rows // by))
    one, two = (cv2.resize(picture[window], size, interpolation=cv2.INTER_AREA) for picture in (before, relit))
    mask = placed_in(change.window, change.mask, window).astype(np.uint8)
    mask = cv2.resize(mask, size, interpolation=cv2.INTER_AREA if by == 1 else cv2.INTER_NEAREST) > 0
    if not mask.any():
        return 1.0
    steps = int(np.ceil(reach_px / by))
    there = _apart(one, two)[mask].mean()
    left_over = []
    for first, second in ((one, two), (two, one)):
        least = np.full(mask.shape, np.inf, np.float32)
        framed = cv2.copyMakeBorder(second, steps, steps, steps, steps, cv2.BORDER_REPLICATE)
        for dy in range(2 * steps + 1):
            for dx in range(2 * steps + 1):
                if (dx - steps) ** 2 + (dy - steps) ** 2 <= steps * steps + 1:
                    moved = framed[dy : dy + mask.shape[0], dx : dx + mask.shape[1]]
                    np.minimum(least, _apart(first, moved), out=least)
        left_over.append(least[mask].mean() / max(float(there), 1e-6))
    return float(max(left_over))


def _apart(one: np.ndarray, two: np.ndarray) -> np.ndarray:
    """Mean distance of the colours in a small box, float32 (H, W), of two uint8 pictures."""
    apart = cv2.transform(cv2.absdiff(one, two).astype(np.float32), np.ones((1, 3), np.float32))
    return cv2.blur(apart, (BOX_PX, BOX_PX))

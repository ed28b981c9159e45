"""Tell a changed surface from one that only shows elsewhere, because it stands proud or lies deep.

Each place of one photo is looked for again in the other within a reach, both ways; what is found again has moved, not
changed. A mark that is in one photo only is not found.
"""

from __future__ import annotations

import cv2
import numpy as np
from numba import njit

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
    rows_px, columns_px = (np.flatnonzero(mask.any(axis)) for axis in (1, 0))
    box = np.s_[rows_px[0] : rows_px[-1] + 1, columns_px[0] : columns_px[-1] + 1]
    half = BOX_PX // 2
    framed = [_framed(side, steps + half) for side in (one, two)]
    top, left = rows_px[0], columns_px[0]
    there = _least_apart(*framed, mask[box], top, left, steps, half, 0)
    if not there:
        return 0.0
    return max(_least_apart(*pair, mask[box], top, left, steps, half, steps) for pair in (framed, framed[::-1])) / there


def _framed(picture: np.ndarray, frame: int) -> np.ndarray:
    """Return the channels one after the other, float32 (3, H, W), framed by their edges."""
    wide = cv2.copyMakeBorder(picture, frame, frame, frame, frame, cv2.BORDER_REPLICATE)
    return np.ascontiguousarray(wide.transpose(2, 0, 1), np.float32)


@njit(cache=True, nogil=True, fastmath=True)
def _least_apart(one, two, mask, top, left, frame, half, reach):  # pragma: no cover
    """Sum over a mask of the least difference of colours in a small box, over all shifts of ``two`` within a reach.

    one, two : float32 (3, H, W) with a frame of ``frame + half`` px; mask : bool (h, w), its corner at (top, left) of
    the unframed pictures
    """
    rows, columns = mask.shape
    tall, wide = rows + 2 * half, columns + 2 * half
    least = np.full((rows, columns), np.inf, np.float32)
    lines = np.zeros((2 * half + 1, wide), np.float32)
    summed = np.zeros(wide, np.float32)
    y0, x0 = top + frame, left + frame
    for dy in range(-reach, reach + 1):
        for dx in range(-reach, reach + 1):
            if dy * dy + dx * dx > reach * reach + 1:
                continue
            summed[:] = 0
            lines[:] = 0
            for y in range(tall):
                line = lines[y % (2 * half + 1)]
                a, b, c = one[0, y0 + y, x0:], one[1, y0 + y, x0:], one[2, y0 + y, x0:]
                d, e, f = two[0, y0 + y + dy, x0 + dx :], two[1, y0 + y + dy, x0 + dx :], two[2, y0 + y + dy, x0 + dx :]
                for x in range(wide):
                    apart = abs(a[x] - d[x]) + abs(b[x] - e[x]) + abs(c[x] - f[x])
                    summed[x] += apart - line[x]
                    line[x] = apart
                if y >= 2 * half:
                    best = least[y - 2 * half]
                    for x in range(columns):
                        boxed = summed[x]
                        for k in range(1, 2 * half + 1):
                            boxed += summed[x + k]
                        best[x] = min(best[x], boxed)
    total = 0.0
    for y in range(rows):
        for x in range(columns):
            if mask[y, x]:
                total += least[y, x]
    return total

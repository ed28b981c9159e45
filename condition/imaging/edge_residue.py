"""Tell a change from what two photos of one steep edge differ by: a little blur, a fraction of a pixel.

The pair's noise is known by lightness and slope, but the few steepest edges of a picture are steeper than the others
their noise was taken from.
"""

from __future__ import annotations

import cv2
import numpy as np

from condition.imaging.change import Change, extent_of, placed_in, widened
from condition.imaging.difference import Difference

LONG = 6.0
"""Length over mean width of a line along an edge."""
STEEP = 12.0
"""Grey levels a pixel."""
SLACK_PX = 1.1
"""How far the edge would have to move to differ like that; most of it is the two photos' blur."""


def is_edge_residue(change: Change, difference: Difference) -> bool:
    """Whether a long thin region lies on a steep edge of the intake photo and differs by less than a pixel's worth."""
    length, width = extent_of(change.mask)
    if length < LONG * width:
        return False
    window = widened(change.window, 2, difference.departure.shape)
    mask = placed_in(change.window, change.mask, window)
    one, two = (
        cv2.cvtColor(np.ascontiguousarray(picture[window]), cv2.COLOR_RGB2GRAY).astype(np.float32)
        for picture in (difference.before, difference.relit)
    )
    across, down = (cv2.Sobel(one, cv2.CV_32F, *order, scale=1 / 8) for order in ((1, 0), (0, 1)))
    slope = cv2.magnitude(across, down)[mask]
    if float(np.median(slope)) < STEEP:
        return False
    return bool(np.median(np.abs(two - one)[mask] / np.maximum(slope, 1.0)) < SLACK_PX)

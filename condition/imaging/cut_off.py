"""What one of two photos cut off at its stop, cut off in the other too, so that no difference is made of it.

A channel at its stop is at least that bright. Its stop is brought to the other photo's light and the other is cut
there, as sharp as the photo that was cut: the tips of a grain finer than the blurred photo shows are no brighter than
it shows them.
"""

from __future__ import annotations

import cv2
import numpy as np

from condition.imaging.blur_match import matching_kernel
from condition.imaging.tone import Tone, level_in_light_of

STOP = 245
"""From here up a channel may have been cut off: sharpening and the file's compression leave it not quite at 255."""


NEAR = 32
"""Levels below the stop: what reaches the other photo so far below was not cut off, and differs in full."""


NEAR_PX = 3
"""What is cut off spills over so far where the picture was blurred, resampled and compressed."""


def cut_alike(before: np.ndarray, relit: np.ndarray, tone: Tone, usable: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The return photo, uint8 (H, W, 3), as bright as the intake photo where only a stop keeps it from being so; and
    where either is cut off in any channel, or that is near, bool (H, W).

    Parameters
    ----------
    before, relit : uint8 (H, W, 3), one frame, one light, about equally sharp
    tone : what brought the return photo to this light
    usable : bool (H, W), where they can be compared
    """
    stops = np.minimum(level_in_light_of(STOP, tone, relit.shape), np.uint8(STOP))
    near = ((before >= stops) | (relit >= stops)).any(2)
    if not (near & usable).any():
        return relit, near
    grey = (cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY).astype(np.float32) for picture in (before, relit))
    soft = cv2.filter2D(before, -1, matching_kernel(*grey, usable), borderType=cv2.BORDER_REFLECT)
    cut = cv2.min(relit, stops)
    reached = np.clip(2 - cv2.subtract(stops, cut) * np.float32(2 / NEAR), 0, 1)
    near = cv2.dilate(near.astype(np.uint8), np.ones((2 * NEAR_PX + 1,) * 2, np.uint8)) > 0
    return cv2.add(cut, (reached * cv2.subtract(soft, stops)).astype(np.uint8)), near

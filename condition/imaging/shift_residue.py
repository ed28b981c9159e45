"""What a fraction of a pixel leaves of the difference of two photos that lie over each other, place by place.

Registration is right to some hundredths of a pixel, and not the same all over the picture; at a steep edge that is some
levels. Where the difference of a whole neighbourhood goes with the slope, it is a shift and no change.

Source: least squares of ``difference = slope . shift`` over a window (Lucas and Kanade, Proc. 7th IJCAI, 1981), each
pixel weighted by its noise, Cauchy's weights against what changed.
"""

from __future__ import annotations

import cv2
import numpy as np

WINDOW_PX = 12.0
"""Standard deviation of the window."""
LIKELY_PX = 0.15
"""Standard deviation of the shifts expected: holds them to nothing where the picture has no slope."""
ALIKE_PX = 6.0
"""Pixels that share one noise, after resampling and blurring."""
FAR_SD = 3.0
REDUCED_BY = 4


def slopes_of(picture: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Levels a pixel, across and down, float32 (H, W) each."""
    return cv2.Sobel(picture, cv2.CV_32F, 1, 0, scale=1 / 8), cv2.Sobel(picture, cv2.CV_32F, 0, 1, scale=1 / 8)


def shifts_of(
    offset: np.ndarray, slopes: tuple[np.ndarray, np.ndarray], spread: np.ndarray, weight: np.ndarray
) -> np.ndarray:
    """How far the one picture lies beside the other, px across and down, float32 (h, w, 2) over the picture reduced.

    Parameters
    ----------
    offset : float32 (H, W), the difference of two pictures
    slopes : of the picture that was taken off, as :func:`slopes_of`
    spread : float32 (H, W), standard deviation of the difference where nothing changed
    weight : float32 (H, W), 0 where they cannot be compared
    """
    height, width = offset.shape
    size = (max(1, width // REDUCED_BY), max(1, height // REDUCED_BY))

    def mean(values: np.ndarray) -> np.ndarray:
        small = cv2.resize(values, size, interpolation=cv2.INTER_AREA)
        return cv2.GaussianBlur(small, (0, 0), WINDOW_PX / REDUCED_BY)

    held = weight / (spread * spread + (offset / np.float32(FAR_SD)) ** 2)
    across, down = slopes
    part = across * held
    xx, xy, x = mean(part * across), mean(part * down), mean(part * offset)
    np.multiply(down, held, out=part)
    yy, y = mean(part * down), mean(part * offset)
    hold = ALIKE_PX / (4 * np.pi * WINDOW_PX**2 * LIKELY_PX**2)
    xx, yy = xx + np.float32(hold), yy + np.float32(hold)
    size_of_both = xx * yy - xy * xy
    return np.dstack([yy * x - xy * y, xx * y - xy * x]) / size_of_both[..., None]


def take_off(offset: np.ndarray, slopes: tuple[np.ndarray, np.ndarray], shifts: np.ndarray) -> None:
    """Take off a difference (H, W), in place, what the shifts make of the slopes."""
    for axis, slope in enumerate(slopes):
        offset -= slope * cv2.resize(shifts[..., axis], offset.shape[1::-1], interpolation=cv2.INTER_LINEAR)

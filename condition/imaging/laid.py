"""One photo resampled in the frame of another, by any way between their pixels."""

from __future__ import annotations

from collections.abc import Callable

import cv2
import numpy as np

MESH_PX = 24
STRIP_ROWS = 512


def laid_under(rgb: np.ndarray, to_photo: Callable[[np.ndarray], np.ndarray], width: int, height: int) -> np.ndarray:
    """Return a photo, uint8 (h, w, 3), as it lies under another of that size, uint8 (height, width, 3).

    Parameters
    ----------
    to_photo : from pixels (N, 2) of the other photo to pixels (N, 2) of this one; smooth, so it is asked on a mesh only

    Where the photo does not reach, its nearest pixel is repeated.
    """
    xs, ys = (np.append(np.arange(0.5, size, MESH_PX), size - 0.5) for size in (width, height))
    mesh = np.stack(np.meshgrid(xs, ys), -1)
    there = to_photo(mesh.reshape(-1, 2)).reshape(mesh.shape) - 0.5
    there = np.clip(np.nan_to_num(there, nan=-1e4), -1e4, 1e5)
    step = np.hypot(*np.moveaxis(np.diff(there, axis=1) / np.diff(xs)[None, :, None], -1, 0))
    factor = float(np.median(step))
    if factor > 1.3:
        rgb = cv2.GaussianBlur(rgb, (0, 0), 0.5 * np.sqrt(factor**2 - 1))
    laid = np.empty((height, width, 3), np.uint8)
    x = np.arange(width) + 0.5
    column = np.interp(x, xs, np.arange(len(xs))).astype(np.float32)
    for top in range(0, height, STRIP_ROWS):
        y = np.arange(top, min(top + STRIP_ROWS, height)) + 0.5
        row = np.interp(y, ys, np.arange(len(ys))).astype(np.float32)
        at = np.broadcast_to(column, (len(y), width)), np.broadcast_to(row[:, None], (len(y), width))
        places = cv2.remap(there.astype(np.float32), *map(np.ascontiguousarray, at), cv2.INTER_LINEAR)
        laid[top : top + len(y)] = cv2.remap(rgb, places, None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return laid

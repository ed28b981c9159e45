"""The small kernel that makes one photo as sharp as the other, found from the pair itself.

Source: image subtraction by a fitted kernel (Alard and Lupton, The Astrophysical Journal 503, 1998), here of free
pixels, robust against what changed (Tukey's weights: Huber, Robust Statistics, 1981).
"""

from __future__ import annotations

import cv2
import numpy as np

REACH_PX = 2
SAMPLE = 20_000
STEEPEST_SHARE = 0.3
ROUNDS = 3
HOLD = 0.01
"""Of the samples' number: holds the kernel to the identity where the picture says nothing."""
TUKEY_C = 4.685
MEAN_PX = 15


def matching_kernel(one: np.ndarray, other: np.ndarray, usable: np.ndarray) -> np.ndarray:
    """Kernel (5, 5), sum 1, that brings ``one`` nearest to ``other``; both float32 (H, W), one frame, one light."""
    size = 2 * REACH_PX + 1
    identity = np.zeros(size * size)
    identity[len(identity) // 2] = 1
    sound = cv2.erode(usable.astype(np.uint8), np.ones((size + 2, size + 2), np.uint8))
    sound[:size], sound[-size:], sound[:, :size], sound[:, -size:] = 0, 0, 0, 0
    rows, columns = _steepest(one, sound)
    if len(rows) < 20 * size * size:
        return identity.reshape(size, size)
    mean_one, mean_other = (cv2.blur(picture, (MEAN_PX, MEAN_PX))[rows, columns] for picture in (one, other))
    reach = range(-REACH_PX, REACH_PX + 1)
    near = np.stack([one[rows + j, columns + i] - mean_one for j in reach for i in reach], 1).astype(float)
    aim = (other[rows, columns] - mean_other).astype(float)
    weight, kernel = np.ones(len(aim)), identity
    for _ in range(ROUNDS):
        weighted = near.T * weight
        hold = HOLD * len(aim) * np.eye(size * size)
        kernel = identity + np.linalg.solve(weighted @ near + hold, weighted @ (aim - near @ identity))
        rest = aim - near @ kernel
        scale = 1.4826 * float(np.median(np.abs(rest))) + 1e-3
        weight = np.clip(1 - (rest / (TUKEY_C * scale)) ** 2, 0, None) ** 2
    total = kernel.sum()
    return (kernel / total if total > 0.5 else identity).reshape(size, size)


def _steepest(picture: np.ndarray, sound: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Rows and columns of an even choice among the steepest places."""
    rows, columns = np.nonzero(sound)
    keep = np.linspace(0, len(rows) - 1, min(len(rows), int(SAMPLE / STEEPEST_SHARE))).astype(int)
    rows, columns = rows[keep], columns[keep]
    if not len(rows):
        return rows, columns
    across = picture[rows, columns + 1] - picture[rows, columns - 1]
    down = picture[rows + 1, columns] - picture[rows - 1, columns]
    steepness = np.hypot(across, down)
    steep = steepness >= np.quantile(steepness, 1 - STEEPEST_SHARE)
    return rows[steep], columns[steep]

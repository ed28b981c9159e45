"""How far small patches of the return photo, laid over the intake photo, still lie beside their place."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np

NODES = (22, 16)
"""Along the longer and the shorter side."""
LEAST_SCORE = 0.6
LEAST_TEXTURE = 0.6
"""Smaller eigenvalue of the mean gradient tensor, grey levels squared a pixel squared, after a 1 px blur."""


@dataclass(frozen=True, slots=True, eq=False)
class Patches:
    """places : (N, 2) intake pixels; shifts : (N, 2) px from there to where the return photo shows it; scores : (N,)
    normalised correlation; holds : (N, 2, 2) how well the patch's own texture holds it, 1 across its strongest edge
    and near 0 along a lone edge, where it may slide"""

    places: np.ndarray
    shifts: np.ndarray
    scores: np.ndarray
    holds: np.ndarray

    def across(self, shifts: np.ndarray | None = None) -> np.ndarray:
        """Lengths (N,) of the part of shifts (N, 2) that the texture can tell."""
        shifts = self.shifts if shifts is None else shifts
        return np.sqrt(np.einsum("ni,nij,nj->n", shifts, self.holds, shifts))

    def only(self, kept: np.ndarray) -> Patches:
        return Patches(self.places[kept], self.shifts[kept], self.scores[kept], self.holds[kept])


NO_PATCHES = Patches(np.empty((0, 2)), np.empty((0, 2)), np.empty(0), np.empty((0, 2, 2)))


def patch_side(width: int, height: int) -> int:
    return int(np.clip(max(width, height) / 25, 32, 64)) // 2 * 2


def displaced(before: np.ndarray, laid: np.ndarray, usable: np.ndarray, reach_px: int) -> Patches:
    """Find patches again near their place.

    Parameters
    ----------
    before, laid : uint8 (H, W), grey, the return photo in the intake photo's frame
    usable : bool (H, W), False on cards and where the return photo shows nothing
    reach_px : how far to look
    """
    height, width = before.shape
    side = patch_side(width, height)
    along = NODES if width >= height else NODES[::-1]
    step = np.array([width / along[0], height / along[1]])
    found = []
    for j in range(along[1]):
        for i in range(along[0]):
            middle = (np.array([i, j]) + 0.5) * step
            place = _best_place(before, usable, middle, step / 4, side, reach_px)
            if place is not None:
                found.append(found_again(before, laid, place, side, reach_px))
    kept = [one for one in found if one is not None]
    if not kept:
        return NO_PATCHES
    rows = np.array(kept)
    return Patches(rows[:, :2], rows[:, 2:4], rows[:, 4], rows[:, 5:9].reshape(-1, 2, 2))


def _best_place(before, usable, middle, off, side, reach):
    """Top left of the most textured of five patches round a node, or None."""
    height, width = before.shape
    best, best_texture = None, LEAST_TEXTURE
    for sign in ((0, 0), (-1, -1), (1, -1), (-1, 1), (1, 1)):
        x, y = np.round(middle + np.array(sign) * off - side / 2).astype(int)
        if x < reach or y < reach or x + side + reach > width or y + side + reach > height:
            continue
        around = usable[y - reach : y + side + reach, x - reach : x + side + reach]
        if not around[::4, ::4].all():
            continue
        texture = _lesser(_tensor(before[y : y + side, x : x + side]))
        if texture > best_texture:
            best, best_texture = (x, y), texture
    return best


def _tensor(patch: np.ndarray) -> np.ndarray:
    """Mean gradient tensor (2, 2) of a grey patch, grey levels squared a pixel squared."""
    smooth = cv2.GaussianBlur(patch.astype(np.float32), (0, 0), 1.0)
    dx, dy = (cv2.Sobel(smooth, cv2.CV_32F, *order, ksize=1, scale=0.5, borderType=cv2.BORDER_REPLICATE)
              for order in ((1, 0), (0, 1)))  # fmt: skip
    dx[:, [0, -1]] *= 2
    dy[[0, -1]] *= 2
    xx, xy, yy = (cv2.mean(cv2.multiply(*pair))[0] for pair in ((dx, dx), (dx, dy), (dy, dy)))
    return np.array([[xx, xy], [xy, yy]])


def _lesser(tensor: np.ndarray) -> float:
    """Smaller eigenvalue of a symmetric matrix (2, 2)."""
    (xx, xy), (_, yy) = tensor.tolist()
    return (xx + yy - math.hypot(xx - yy, 2 * xy)) / 2


def found_again(
    before: np.ndarray, laid: np.ndarray, place: tuple[int, int], side: int, reach: int
) -> tuple[float, ...] | None:
    """Find one patch of ``before`` again in ``laid``: its middle, shift, score and hold (9 numbers), or None."""
    x, y = place
    patch = before[y : y + side, x : x + side]
    around = laid[y - reach : y + side + reach, x - reach : x + side + reach]
    score = cv2.matchTemplate(around, patch, cv2.TM_CCOEFF_NORMED)
    _, best, _, (column, row) = cv2.minMaxLoc(score)
    if best < LEAST_SCORE or not (0 < column < 2 * reach and 0 < row < 2 * reach):
        return None
    dx = _vertex(*score[row, column - 1 : column + 2])
    dy = _vertex(*score[row - 1 : row + 2, column])
    tensor = _tensor(patch)
    hold = tensor / np.linalg.eigvalsh(tensor)[1]
    return x + side / 2, y + side / 2, column + dx - reach, row + dy - reach, best, *hold.ravel()


def _vertex(left: float, middle: float, right: float) -> float:
    """Offset of a parabola's vertex from the middle of three samples, within half a step."""
    bend = left - 2 * middle + right
    return float(np.clip(0.5 * (left - right) / bend, -0.5, 0.5)) if bend < 0 else 0.0

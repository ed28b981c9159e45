"""Refine a motion between two pictures of edges by patches of them, each looked for near where the motion puts it."""

from __future__ import annotations

import cv2
import numpy as np

from condition.imaging.matching import fitted_homography
from condition.imaging.overlay import through
from condition.imaging.rigid import fitted_motion, robust_motion

PATCH, SPACING = 48, 24
"""Cells."""
REACHES = (22, 8, 5)
LEAST_SCORE = 0.45
LEAST_LEAD = 0.08
"""Of the patch's best place over the next best one that is not beside it."""
FEWEST = 14
CLOSE = 1.5
"""Cells."""
MOST_CHANGE = 0.08
"""A refined motion does not stretch more than two hand-held cameras do."""


def refined(
    photo: np.ndarray, base: np.ndarray, base_known: np.ndarray, matrix: np.ndarray, *, rigid: bool
) -> tuple[np.ndarray, int, float] | None:
    """Return the motion (3 x 3, cells of the photo to cells of the base, from cell corners), how many patches carry it
    and their rms in cells; None when too few agree.

    Parameters
    ----------
    photo, base : float32 edges, 0 where unknown; base_known : 1 where the base is known
    rigid : keep to turn and shift; else a camera's tilt is found too
    """
    found = None
    for reach in REACHES:
        here, there = _patches(photo, base, base_known, matrix, reach)
        fit = _fit(here, there, rigid, CLOSE if reach < REACHES[0] else 2 * CLOSE)
        if fit is None:
            return found
        matrix, kept = fit
        away = np.hypot(*(through(matrix, here[kept]) - there[kept]).T)
        found = (matrix, int(kept.sum()), float(np.sqrt((away**2).mean())))
    return found


def _patches(photo, base, base_known, matrix, reach) -> tuple[np.ndarray, np.ndarray]:
    """Places (N, 2) in the photo's cells and where they are found in the base's."""
    rows, columns = base.shape
    centred = np.array([[1, 0, -0.5], [0, 1, -0.5], [0, 0, 1.0]])
    laid = cv2.warpPerspective(photo, centred @ matrix @ np.linalg.inv(centred), (columns, rows))
    back = np.linalg.inv(matrix)
    here, there = [], []
    for top in range(reach, rows - PATCH - reach, SPACING):
        for left in range(reach, columns - PATCH - reach, SPACING):
            patch = laid[top : top + PATCH, left : left + PATCH]
            if (patch > 0).mean() < 0.8 or patch.std() < 0.15:
                continue
            window = slice(top - reach, top + PATCH + reach), slice(left - reach, left + PATCH + reach)
            if base_known[window].mean() < 0.6:
                continue
            score = cv2.matchTemplate(base[window], patch, cv2.TM_CCOEFF_NORMED)
            shift = _peak(score)
            if shift is None:
                continue
            middle = np.array([[left + PATCH / 2, top + PATCH / 2]])
            here.append(through(back, middle)[0])
            there.append(middle[0] + shift - reach)
    return np.array(here).reshape(-1, 2), np.array(there).reshape(-1, 2)


def _peak(score: np.ndarray) -> np.ndarray | None:
    """The peak (x, y) between cells, None when it does not stand out or lies at the border."""
    row, column = np.unravel_index(int(score.argmax()), score.shape)
    top = float(score[row, column])
    if top < LEAST_SCORE or not (0 < row < score.shape[0] - 1 and 0 < column < score.shape[1] - 1):
        return None
    others = score.copy()
    others[max(0, row - 3) : row + 4, max(0, column - 3) : column + 4] = -1
    if top - others.max() < LEAST_LEAD:
        return None
    place = []
    for before, after, at in ((score[row, column - 1], score[row, column + 1], column),
                              (score[row - 1, column], score[row + 1, column], row)):  # fmt: skip
        bow = before - 2 * top + after
        place.append(at + (0.5 * float(before - after) / float(bow) if bow < 0 else 0.0))
    return np.array(place)


def _fit(here: np.ndarray, there: np.ndarray, rigid: bool, reach: float) -> tuple[np.ndarray, np.ndarray] | None:
    if len(here) < FEWEST:
        return None
    fit = robust_motion(here, there, reach) if rigid else fitted_homography(here, there, reach)
    if fit is None or fit[1].sum() < FEWEST:
        return None
    matrix, kept = fit
    if not rigid:
        similar = fitted_motion(here[kept], there[kept], scale=None)
        stretch = np.linalg.svd(np.linalg.inv(similar[:2, :2]) @ matrix[:2, :2], compute_uv=False)
        size = np.hypot(*similar[:2, 0])
        if abs(size - 1) > MOST_CHANGE or np.abs(stretch - 1).max() > MOST_CHANGE:
            return None
    return matrix, kept

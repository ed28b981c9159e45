"""Least squares over all rectangles of a photo at once: one camera, and each rectangle's own place and turn.

Unknowns: the eleven camera numbers of :mod:`condition.imaging.pose`, and x, y, angle of every rectangle after the
first, which holds the plane's frame. Corners are weighted by their own noise; what is known beforehand about the
camera enters as further observations (a Gauss-Markov estimate with prior information).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from condition.imaging.plane_residuals import weighted_residuals
from condition.imaging.pose import FITTED

SIGNS = np.array([(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)])


SETTLED = 1e-5
"""Relative gain of chi2 below which the fit has arrived: a hundredth of a standard uncertainty at most."""


@dataclass(frozen=True, slots=True)
class Rectangle:
    """A flat thing of known sides: corners (4, 2) px in the order top left, top right, bottom right, bottom left."""

    id: int
    corners_px: np.ndarray
    sd_px: float
    sides_mm: tuple[float, float]

    @property
    def outline_mm(self) -> np.ndarray:
        return SIGNS * (self.sides_mm[0] / 2, self.sides_mm[1] / 2)


@dataclass(frozen=True, slots=True)
class Prior:
    """What is known of one camera number before the fit. ``index`` -1 stands for ln of the camera's distance."""

    source: str
    index: int
    mean: float
    sd: float


@dataclass(frozen=True, slots=True)
class Fit:
    """vector : the fitted unknowns; jacobian : of the weighted residuals; residuals : weighted, corners first"""

    rectangles: tuple[Rectangle, ...]
    anchor: tuple[float, float, float]
    priors: tuple[Prior, ...]
    vector: np.ndarray
    residuals: np.ndarray
    jacobian: np.ndarray

    @property
    def chi2(self) -> float:
        return float(self.residuals @ self.residuals)

    @property
    def freedom(self) -> int:
        return len(self.residuals) - len(self.vector)

    @property
    def camera(self) -> np.ndarray:
        return self.vector[:FITTED]

    @property
    def placements(self) -> np.ndarray:
        return np.vstack([self.anchor, self.vector[FITTED:].reshape(-1, 3)])

    @property
    def corner_residuals_px(self) -> np.ndarray:
        """Observed minus fitted corners, (n, 4, 2) px."""
        count = len(self.rectangles)
        sd = np.array([r.sd_px for r in self.rectangles])
        return self.residuals[: 8 * count].reshape(count, 4, 2) * sd[:, None, None]


class _Residuals:
    """The problem's numbers as arrays, ready for the compiled residuals."""

    def __init__(self, problem: Fit, half: float) -> None:
        rectangles, priors = problem.rectangles, problem.priors
        self._fixed = (
            np.stack([r.outline_mm for r in rectangles]),
            np.stack([np.asarray(r.corners_px, float) for r in rectangles]),
            np.array([r.sd_px for r in rectangles], float),
            np.array(problem.anchor, float),
            np.array([p.index for p in priors], np.int64),
            np.array([p.mean for p in priors], float),
            np.array([p.sd for p in priors], float),
            float(half),
        )

    def __call__(self, vectors: np.ndarray) -> np.ndarray:
        """Weighted residuals (V, R) of unknowns (V, P)."""
        return weighted_residuals(np.ascontiguousarray(vectors), *self._fixed)


def _steps(count: int, half: float, distance: float) -> np.ndarray:
    camera = [1e-5, 1e-5, 1e-5, 1e-2, 1e-2, 1e-6, 1e-6, 1e-6, 1e-3, 1e-3, distance * 1e-6]
    return np.array(camera + [1e-3, 1e-3, 1e-6] * ((count - FITTED) // 3))


def solve(
    rectangles: tuple[Rectangle, ...],
    start: np.ndarray,
    priors: tuple[Prior, ...],
    half: float,
    anchor: tuple[float, float, float] = (0.0, 0.0, 0.0),
    rounds: int = 60,
) -> Fit:
    """Fit by Levenberg and Marquardt's method from ``start``, (11 + 3 (n - 1),).

    Never raises on a bad start: it returns the best it reached, and its chi2 tells.
    """
    empty = np.empty(0)
    problem = Fit(rectangles, anchor, priors, empty, empty, empty)
    vector, damping = np.asarray(start, float).copy(), 1e-3
    steps = _steps(len(vector), half, float(np.linalg.norm(vector[8:11])))
    shifts = np.vstack([np.diag(steps), -np.diag(steps)])
    weighted = _Residuals(problem, half)
    residuals = weighted(vector[None])[0]
    jacobian = None
    for _ in range(rounds):
        moved = weighted(vector + shifts)
        jacobian = ((moved[: len(vector)] - moved[len(vector) :]) / (2 * steps[:, None])).T
        scale = np.sqrt((jacobian**2).sum(0)) + 1e-30
        unit = jacobian / scale
        normal, slope = unit.T @ unit, unit.T @ residuals
        before = residuals @ residuals
        for _ in range(12):
            step = -np.linalg.solve(normal + damping * np.eye(len(vector)), slope) / scale
            with np.errstate(all="ignore"):
                trial = weighted((vector + step)[None])[0]
            after = trial @ trial
            if np.isfinite(after) and after <= before and vector[10] + step[10] > 0:
                vector, residuals, damping = vector + step, trial, max(damping / 8, 1e-12)
                break
            damping *= 6
        else:
            break
        if before - after < SETTLED * (1 + after):
            break
    moved = weighted(vector + shifts)
    jacobian = ((moved[: len(vector)] - moved[len(vector) :]) / (2 * steps[:, None])).T
    return Fit(rectangles, anchor, priors, vector, residuals, jacobian)


def source_columns(fit: Fit) -> dict[str, np.ndarray]:
    """For each source of error the columns (FITTED, m) whose outer products add up to its share of the covariance.

    With N = J'J the covariance of the unknowns is the sum over sources of N^-1 J_s' J_s N^-1, where J_s are the rows
    that the source's observations contribute (JCGM 100:2008, 5.1.2 with the estimate's own sensitivities).
    """
    scale = np.sqrt((fit.jacobian**2).sum(0)) + 1e-30
    unit = fit.jacobian / scale
    gain = (np.linalg.pinv(unit) / scale[:, None])[:FITTED]
    corner_rows = 8 * len(fit.rectangles)
    columns = {"corners": _packed(gain[:, :corner_rows])}
    for row, prior in enumerate(fit.priors, corner_rows):
        kept = columns.get(prior.source)
        column = gain[:, row : row + 1]
        columns[prior.source] = column if kept is None else np.hstack([kept, column])
    return columns


def _packed(columns: np.ndarray) -> np.ndarray:
    scale = np.sqrt((columns**2).sum(1)) + 1e-300
    left, size, _ = np.linalg.svd(columns / scale[:, None], full_matrices=False)
    return left[:, size > 1e-9 * size[0]] * size[size > 1e-9 * size[0]] * scale[:, None]

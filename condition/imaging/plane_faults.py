"""Which cards do not belong: bent or misread ones, and cards that lie in another plane."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import chdtrc, fdtrc

from condition.imaging.plane_fit import Fit, Prior, Rectangle
from condition.imaging.plane_start import fit_all, poses_of_one
from condition.records.plane import OTHER_PLANE

CLEARLY = 0.001
"""Chance of calling a good card bad, or a flat layout bent."""

WORTH_ASKING = 2.0
"""Reduced chi2 from which the residuals are examined at all: noise alone, however misjudged, is left in."""


@dataclass(frozen=True, slots=True)
class Verdict:
    fit: Fit
    left_out: tuple[tuple[int, str], ...] = ()
    one_plane: bool = True


def judged(
    rectangles: tuple[Rectangle, ...], priors: tuple[Prior, ...], focal: float, centre: np.ndarray, half: float
) -> Verdict:
    """Fit all rectangles, leaving out those that a clear majority of the others contradicts.

    A rectangle goes when its going lowers chi2 by far more than noise can (F test with the residuals that remain as
    the noise), so that noise twice as large as stated costs no card. What still disagrees is in no one plane.
    """

    def fitted(chosen: tuple[Rectangle, ...], near: Fit | None = None) -> Fit:
        starts = [near] if near else poses_of_one(chosen[0], priors, focal, centre, half)
        return fit_all(chosen, priors, starts, half)

    kept, gone = rectangles, []
    fit = fitted(kept)
    while len(kept) > 2 and fit.chi2 / fit.freedom > WORTH_ASKING:
        trials = [(fitted(kept[:i] + kept[i + 1 :], fit if i else None), kept[i]) for i in range(len(kept))]
        best, out = min(trials, key=lambda trial: trial[0].chi2)
        ratio = ((fit.chi2 - best.chi2) / 5) / (best.chi2 / best.freedom)
        if fdtrc(5, best.freedom, max(0.0, ratio)) > CLEARLY / len(kept) or 2 * (len(kept) - 1) <= len(rectangles):
            break
        gone.append(out)
        kept, fit = best.rectangles, best
    reasons = tuple((card.id, _reason(card, fit, half)) for card in gone)
    return Verdict(fit, reasons, _in_one_plane(fit, focal, centre, half))


def _alone(rectangle: Rectangle, fit: Fit, half: float) -> Fit:
    """The rectangle by itself, with the camera that the others found."""
    camera = fit.camera
    priors = tuple(Prior("camera", i, float(camera[i]), 1e-6 * max(1.0, abs(float(camera[i])))) for i in range(5))
    return poses_of_one(rectangle, priors, float(np.exp(camera[0])), camera[3:5], half)[0]


def _reason(rectangle: Rectangle, fit: Fit, half: float) -> str:
    noise = max(1.0, fit.chi2 / fit.freedom)
    alone = _alone(rectangle, fit, half)
    square = chdtrc(2, alone.chi2 / noise) > CLEARLY
    return OTHER_PLANE if square else "bent or misread"


def _in_one_plane(fit: Fit, focal: float, centre: np.ndarray, half: float) -> bool:
    count = len(fit.rectangles)
    if count < 2 or fit.chi2 / fit.freedom < WORTH_ASKING:
        return True
    apart = [poses_of_one(r, fit.priors, focal, centre, half)[0] for r in fit.rectangles]
    rest = sum(one.chi2 for one in apart)
    free = 2 * count
    ratio = ((fit.chi2 - rest) / (fit.freedom - free + 1)) / (max(rest, free * 0.1) / free)
    return fdtrc(fit.freedom - free + 1, free, max(0.0, ratio)) > CLEARLY

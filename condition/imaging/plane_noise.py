"""How much more than stated the card corners scatter, judged by what the fit leaves of them."""

from __future__ import annotations

import numpy as np

from condition.imaging.plane_fit import Fit


def corner_freedom(fit: Fit) -> float:
    """Degrees of freedom that the corners' residuals keep: the trace of their share of 1 - H, H the hat matrix.

    What is known of the camera beforehand is information of its own: where the corners hardly move a camera number they
    pay no degree of freedom for it.
    """
    basis, _ = np.linalg.qr(fit.jacobian / (np.sqrt((fit.jacobian**2).sum(0)) + 1e-30))
    rows = 8 * len(fit.rectangles)
    return rows - float((basis[:rows] ** 2).sum())


def excess_variance(fit: Fit, corners: np.ndarray, others: np.ndarray) -> float:
    """Variance to add to the corners', as a multiple of the stated; never less than 0.

    The corners' variance is known twice: as stated, and from the residuals, which with few cards is a poor estimate. By
    the second the coverage factor is Student's for the effective degrees of freedom of the whole budget, whose other
    parts are known (Welch and Satterthwaite; JCGM 100:2008, G.4.1 and G.6.4, for 95.45 %). The wider of the two counts.

    corners, others : (n,) variances that the corners as stated, and all other sources together, bring to some lengths
    """
    from scipy.special import ndtr, stdtrit

    freedom = corner_freedom(fit)
    if freedom < 1:
        return 0.0
    chi2 = float((fit.residuals[: 8 * len(fit.rectangles)] ** 2).sum())
    seen = chi2 / freedom * corners
    whole = seen + others
    effective = freedom * (whole / np.maximum(seen, 1e-9 * whole)) ** 2
    widened = whole * (stdtrit(effective, ndtr(2.0)) / 2.0) ** 2
    return max(0.0, float(((widened - corners - others) / corners).max()))

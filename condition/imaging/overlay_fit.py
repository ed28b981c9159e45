"""Fit an overlay to patches, each as far as its texture holds it (Gauss-Newton on the weighted squares)."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from condition.imaging.overlay import Overlay, cubic_terms, through
from condition.imaging.patches import Patches

ALONG_HOLD = 0.01
"""Least weight along a lone edge, so that no fit is left undetermined."""
FIELD_HOLD = 1e-3
BENT_TERMS = slice(3, 10)
"""The smooth rest leaves out what a homography does: shift and stretch."""
STEPS = 6


def fitted_overlay(overlay: Overlay, patches: Patches, targets: np.ndarray, smooth: bool) -> Overlay:
    """The homography, and with ``smooth`` the cubic rest, that carry patches to their targets (N, 2) return pixels.

    overlay : where to start from
    """
    places = patches.places
    unit = overlay.scaled(places)
    from_unit = np.array(
        [[overlay.width / 2, 0, overlay.width / 2], [0, overlay.height / 2, overlay.height / 2], [0, 0, 1]]
    )
    matrix = overlay.homography @ from_unit
    matrix /= matrix[2, 2]
    root = np.linalg.cholesky(patches.holds + ALONG_HOLD * np.eye(2)).transpose(0, 2, 1)
    terms = cubic_terms(unit)[:, BENT_TERMS] if smooth else np.empty((len(unit), 0))
    field = np.zeros((terms.shape[1], 2))
    for _ in range(STEPS):
        rest = targets - through(matrix, unit) - terms @ field
        slope = _slope(matrix, unit, terms)
        weighted = np.einsum("nij,njk->nik", root, slope).reshape(-1, slope.shape[2])
        aim = np.einsum("nij,nj->ni", root, rest).ravel()
        hold = np.zeros(slope.shape[2])
        hold[8:] = FIELD_HOLD * len(unit)
        pull = np.concatenate([np.zeros(8), hold[8:] * field.ravel()])
        step = np.linalg.lstsq(weighted.T @ weighted + np.diag(hold), weighted.T @ aim - pull, rcond=None)[0]
        matrix = matrix + np.append(step[:8], 0.0).reshape(3, 3)
        field = field + step[8:].reshape(field.shape)
    homography = matrix @ np.linalg.inv(from_unit)
    whole = None
    if smooth:
        whole = np.zeros((10, 2))
        whole[BENT_TERMS] = field
    return replace(overlay, homography=homography / homography[2, 2], field=whole)


def _slope(matrix: np.ndarray, unit: np.ndarray, terms: np.ndarray) -> np.ndarray:
    """Derivative (N, 2, parameters) of the places by the homography's eight and the field's numbers."""
    one = np.column_stack([unit, np.ones(len(unit))])
    depth = one @ matrix[2]
    seen = through(matrix, unit)
    slope = np.zeros((len(unit), 2, 8 + 2 * terms.shape[1]))
    for axis in (0, 1):
        slope[:, axis, 3 * axis : 3 * axis + 3] = one / depth[:, None]
        slope[:, axis, 6:8] = -one[:, :2] * (seen[:, axis] / depth)[:, None]
        slope[:, axis, 8 + axis :: 2] = terms
    return slope

"""Fit a slot blurred by a Gaussian on sloping ground to profiles of light, many at once."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

PLAIN_SIGMAS = 2.0
"""Depth over the ground's scatter from which a profile shows a slot."""
CENTRE_WITHIN_PX = 3.0
ROUNDS = 25
_LOWEST = np.array([0.0, -5.0, 0.2, 0.4, -1.0, -1.0])
_HIGHEST = np.array([4.0, 5.0, 24.0, 4.0, 1.0, 1.0])


@dataclass(frozen=True, slots=True)
class Slots:
    """Of the profiles that show a slot: depth (in the profile's unit), width, blur sigma, width at half depth (px)."""

    depth: np.ndarray
    width: np.ndarray
    blur: np.ndarray
    at_half_depth: np.ndarray


def slots_of(offsets: np.ndarray, profiles: np.ndarray) -> Slots:
    """Fit every profile that is darker in its middle.

    Parameters
    ----------
    offsets : px across the slot, shape (S,), evenly spaced about 0
    profiles : linear light, shape (N, S)

    Source: Levenberg 1944, Marquardt 1963, with Huber's weights.
    """
    sides = np.abs(offsets) > offsets[-1] / 2
    design = np.stack([offsets, np.ones_like(offsets)], axis=1)
    ground = np.linalg.lstsq(design[sides], profiles[:, sides].T, rcond=None)[0]
    dips = (design @ ground).T - profiles
    noise = dips[:, sides].std(axis=1) + 1e-6
    middle = np.flatnonzero(np.abs(offsets) <= CENTRE_WITHIN_PX)
    centre = middle[np.argmax(dips[:, middle], axis=1)]
    depth = dips[np.arange(len(dips)), centre]
    half = _half_width(dips, centre, depth, float(offsets[1] - offsets[0]))
    plain = (depth > PLAIN_SIGMAS * noise) & np.isfinite(half)
    if not plain.any():
        return Slots(*[np.empty(0)] * 4)
    dips, centre, depth, half, noise = (part[plain] for part in (dips, centre, depth, half, noise))
    start = np.stack(
        [depth, offsets[centre], np.maximum(half, 0.6), np.full(len(dips), 0.9), 0 * depth, 0 * depth], axis=1
    )
    fitted = _fit(offsets, dips, start, noise)
    return Slots(fitted[:, 0], fitted[:, 2], fitted[:, 3], half)


def _half_width(dips: np.ndarray, centre: np.ndarray, depth: np.ndarray, step: float) -> np.ndarray:
    """Return the width at half depth around each centre; NaN where the profile does not come back up."""
    places = np.arange(dips.shape[1])
    up = dips < depth[:, None] / 2
    left = np.where(up & (places < centre[:, None]), places, -1).max(axis=1)
    right = np.where(up & (places > centre[:, None]), places, dips.shape[1]).min(axis=1)
    return np.where((left >= 0) & (right < dips.shape[1]), (right - left - 1) * step, np.nan)


def _fit(offsets: np.ndarray, dips: np.ndarray, values: np.ndarray, noise: np.ndarray) -> np.ndarray:
    """Return depth, centre, width, blur, lift and tilt, shape (N, 6), by damped least squares."""
    damping = np.full(len(dips), 1e-2)
    modelled, slopes = _slot(offsets, values)
    cost, weight = _misfit(dips - modelled, noise)
    for _ in range(ROUNDS):
        weighted = (slopes * weight[..., None]).transpose(0, 2, 1)
        normal = weighted @ slopes
        right = weighted @ (dips - modelled)[..., None]
        diagonal = normal.diagonal(axis1=1, axis2=2)
        damped = normal + (damping[:, None] * diagonal + 1e-12)[..., None] * np.eye(6)
        tried = np.clip(values + np.linalg.solve(damped, right)[..., 0], _LOWEST, _HIGHEST)
        tried_model, tried_slopes = _slot(offsets, tried)
        tried_cost, tried_weight = _misfit(dips - tried_model, noise)
        better = tried_cost < cost
        settled = better & (cost - tried_cost < 1e-4 * cost)
        values = np.where(better[:, None], tried, values)
        modelled = np.where(better[:, None], tried_model, modelled)
        slopes = np.where(better[:, None, None], tried_slopes, slopes)
        weight = np.where(better[:, None], tried_weight, weight)
        cost = np.where(better, tried_cost, cost)
        damping = np.clip(np.where(better, damping * 0.3, damping * 8), 1e-9, 1e9)
        if (settled | (damping > 1e3)).mean() > 0.9:
            break
    return values


def _misfit(residual: np.ndarray, noise: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    limit = 2 * noise[:, None]
    size = np.abs(residual)
    cost = np.where(size <= limit, 0.5 * residual**2, limit * (size - 0.5 * limit)).sum(axis=1)
    return cost, np.where(size <= limit, 1.0, limit / np.maximum(size, 1e-12))


def _slot(offsets: np.ndarray, values: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the modelled dips (N, S) and their derivatives by the six values (N, S, 6)."""
    from scipy.special import erf

    depth, middle, width, blur, lift, tilt = (column[:, None] for column in values.T)
    near = (offsets - middle + width / 2) / (math.sqrt(2) * blur)
    far = (offsets - middle - width / 2) / (math.sqrt(2) * blur)
    rise, fall = (np.exp(-(edge**2)) / (math.sqrt(2 * math.pi) * blur) for edge in (near, far))
    box = 0.5 * (erf(near) - erf(far))
    ones = np.ones_like(box)
    slopes = [
        box,
        -depth * (rise - fall),
        0.5 * depth * (rise + fall),
        math.sqrt(2) * depth * (far * fall - near * rise),
        ones,
        offsets * ones,
    ]
    return depth * box + lift + tilt * offsets, np.stack(slopes, axis=2)

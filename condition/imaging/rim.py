"""The rim of a round hole or bright disc to a few hundredths of a pixel, as points round it.

Edges along rays in linear light give middle and oval; the size comes from the profile averaged round the oval, fitted
with what a blurred disc of that size looks like. Blur draws the rim of a small disc inwards (by sigma^2 / 2 r to first
order), which the exact model takes into account: light of a Gaussian-blurred disc at distance p from its middle is the
noncentral chi-square distribution with two degrees of freedom (Marcum, IRE Trans. IT-6, 1960).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from condition.imaging.edges import Window, edge_offsets, window_of
from condition.imaging.hole_edges import rims_of

LEAST_RADIUS_PX = 2.0
AGREEMENT = 0.6
"""Share of rays whose edge must lie near one circle."""
STRAY = 0.35
"""How far, in radii, the rim may lie from the drawn one."""
BLUR_SHARE = 0.45
"""Largest blur, in radii, at which a disc's size can still be told from its blur."""
MODEL_SD_PX = 0.04
"""What the model gets wrong on discs of known size (standard uncertainty of the radius)."""
STEP_PX = 0.25


@dataclass(frozen=True, slots=True)
class Rim:
    """points_px : (N, 2) round the rim, upright pixels; edge_sd_px : standard uncertainty of the rim's place as a
    whole; blur_px : sigma of the edge; contrast : light outside less inside, linear, negative for a bright disc"""

    points_px: np.ndarray
    edge_sd_px: float
    blur_px: float
    contrast: float


def find_rim(rgb: np.ndarray, x: float, y: float, radius_px: float) -> Rim | None:
    """Fit the rim near a drawn circle, or None where none is seen there.

    Parameters
    ----------
    rgb : upright photo, uint8 (H, W, 3)
    x, y, radius_px : the circle as drawn or proposed, upright pixels
    """
    if radius_px < LEAST_RADIUS_PX:
        return None
    reach = 1.9 * radius_px + 10
    window = window_of(rgb, np.array([[x, y]]), reach)
    best = max((_coarse(window, sign, x, y, radius_px) for sign in (1.0, -1.0)), key=lambda c: c[0])
    if best[0] < AGREEMENT:
        return None
    _, sign, centre, radius = best
    fitted = _fitted(Window(window.light * np.float32(sign), window.x0, window.y0), centre, radius)
    if fitted is None:
        return None
    middle = fitted.points_px.mean(0)
    size = float(np.hypot(*(fitted.points_px - middle).T).mean())
    if math.hypot(*(middle - (x, y))) > STRAY * radius_px + 1 or abs(size - radius_px) > STRAY * radius_px + 1:
        return None
    return Rim(fitted.points_px, fitted.edge_sd_px, fitted.blur_px, sign * fitted.contrast)


def _coarse(window: Window, sign: float, x: float, y: float, radius: float):
    light = window.light * np.float32(sign)
    seen = rims_of(light, *(np.array([float(v)]) for v in (x - window.x0, y - window.y0, radius)))
    share = float(seen.agreement[0]) if seen.weakest_sector[0] > 0 else 0.0
    return share, sign, np.array([seen.x[0] + window.x0, seen.y[0] + window.y0]), float(seen.radius[0])


def _fitted(window: Window, centre: np.ndarray, radius: float) -> Rim | None:
    count = int(np.clip(2 * math.pi * radius, 32, 256))
    turn = np.arange(count) * 2 * math.pi / count
    rays = np.column_stack([np.cos(turn), np.sin(turn)])
    basis = np.column_stack([np.ones(count), np.cos(turn), np.sin(turn), np.cos(2 * turn), np.sin(2 * turn)])
    oval = np.array([radius, 0.0, 0.0, 0.0, 0.0])
    for _ in range(3):
        mean = oval[0]
        reach = float(np.clip(mean / 1.6, 1.0, 6.0))
        around = basis @ oval
        steps = math.ceil((1.6 * reach + 2.5) / STEP_PX)
        offsets = np.arange(-steps, steps + 1) * STEP_PX
        profiles = window.sample(centre + (around[:, None] + offsets)[..., None] * rays[:, None, :])
        known = np.isfinite(profiles).all(1)
        if known.mean() < AGREEMENT:
            return None
        found = edge_offsets(np.nan_to_num(profiles), STEP_PX, reach, np.zeros(count))
        good = known & np.isfinite(found) & (np.abs(found) < reach)
        if good.mean() < AGREEMENT:
            return None
        change, keep = _robust(basis[good], found[good])
        centre = centre + change[1:3]
        oval = oval + np.array([change[0], 0, 0, change[3], change[4]])
        good[np.flatnonzero(good)[~keep]] = False
    around = basis @ oval
    size, blur, contrast, sd = _disc_size(window, centre, rays[good], around[good], oval[0])
    if size is None or blur > BLUR_SHARE * size:
        return None
    shift = size - oval[0]
    left = found - basis @ change
    kept = np.where(good, left, 0.0)
    points = centre + (around + shift + kept)[:, None] * rays
    return Rim(points[good], math.hypot(sd, MODEL_SD_PX), blur, contrast)


def _robust(basis: np.ndarray, values: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    weights = np.ones(len(values))
    for _ in range(8):
        found, *_ = np.linalg.lstsq(basis * weights[:, None], values * weights, rcond=None)
        left = values - basis @ found
        spread = max(1.4826 * float(np.median(np.abs(left))), 0.02)
        weights = np.sqrt(np.clip(1 - (left / (4.7 * spread)) ** 2, 0, None))
    return found, weights > 0


def blurred_disc(places: np.ndarray, radius: float, blur: float) -> np.ndarray:
    """Share of a disc's light (1 inside, 0 far away) at distances `places` from its middle, blurred by `blur`."""
    from scipy.special import chndtr, ndtr

    if radius > 40 * blur:
        return ndtr((radius - places) / blur)
    return chndtr((radius / blur) ** 2, 2, (places / blur) ** 2)


def _disc_size(window: Window, centre, rays, around, mean):
    """Radius of the disc whose blurred profile fits the one averaged round the oval: (radius, blur, contrast, sd)."""
    from scipy.optimize import least_squares

    inner, outer = min(mean, 9.0), min(0.6 * mean + 3.0, 9.0)
    offsets = np.arange(-inner, outer + STEP_PX / 2, STEP_PX)
    profiles = window.sample(centre + (around[:, None] + offsets)[..., None] * rays[:, None, :])
    profile = np.nanmedian(profiles, axis=0) if len(rays) > 60 else np.nanmean(profiles, axis=0)
    if not np.isfinite(profile).all():
        return None, 0.0, 0.0, 0.0
    low, high = float(profile[:3].mean()), float(profile[-3:].mean())
    step = high - low
    if abs(step) < 1e-4:
        return None, 0.0, 0.0, 0.0
    places = np.maximum(mean + offsets, 0.0)

    def left(values: np.ndarray) -> np.ndarray:
        radius, blur, dark, bright, slope = values
        disc = blurred_disc(places, radius, blur)
        return (dark * disc + (bright + slope * offsets) * (1 - disc) - profile) / step

    fitted = least_squares(
        left,
        [mean + 0.1, 0.9, low, high, 0.0],
        bounds=([0.5 * mean, 0.2, -2, -2, -1], [1.5 * mean + 1, 5.0, 2, 2, 1]),
        x_scale=[1, 1, abs(step), abs(step), abs(step) / 5],
        loss="soft_l1",
        f_scale=0.03,
    )
    freedom = max(1.0, len(offsets) * STEP_PX / 1.0 - 5)
    noise = float(np.sqrt((left(fitted.x) ** 2).sum() * STEP_PX / freedom))
    normal = fitted.jac.T @ fitted.jac * STEP_PX
    try:
        sd = noise * math.sqrt(abs(float(np.linalg.inv(normal)[0, 0])))
    except np.linalg.LinAlgError:
        return None, 0.0, 0.0, 0.0
    return float(fitted.x[0]), float(fitted.x[1]), float(fitted.x[3] - fitted.x[2]), min(sd, 1.0)

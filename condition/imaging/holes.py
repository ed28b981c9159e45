"""Find round holes (or bright discs) in a part of a photo and propose their centres and diameters."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from condition.errors import Refused
from condition.imaging.hole_candidates import round_spots
from condition.imaging.hole_edges import Rims, rims_of, uncurved
from condition.imaging.lightness import lightness_of, luminance_of

Box = tuple[float, float, float, float]
"""x, y, width, height in upright-photo pixels."""

LEAST_RADIUS_PX = 1.5
SURE_RADIUS_PX = 3.0
"""Smaller holes are proposals: a third of them are missed and their diameter is good to half a pixel at best."""
AGREEMENT = 0.8
AGREEMENT_BAND_KNOWN = 0.6
LEAST_SNR = 4.0


@dataclass(frozen=True, slots=True)
class HoleProposal:
    """x, y, diameter_px in upright-photo pixels; ``sure`` when every gate was passed; score 0..1 orders them."""

    x: float
    y: float
    diameter_px: float
    sure: bool
    score: float


def find_holes(
    rgb: np.ndarray,
    box: Box,
    radius_band_px: tuple[float, float] | None = None,
    *,
    bright: bool = False,
) -> tuple[HoleProposal, ...]:
    """Propose the round holes whose centre lies in a box, best first.

    Parameters
    ----------
    rgb : uint8, shape (H, W, 3), the upright photo
    box : x, y, width, height in upright-photo pixels
    radius_band_px : least and largest radius where the size is known; default: 1.5 px up to half the box
    bright : look for bright discs on darker ground instead

    Raises
    ------
    Refused
        The box lies outside the photo or is smaller than 8 px.
    """
    height, width = rgb.shape[:2]
    x, y, wide, high = box
    left, top, right, bottom = max(0.0, x), max(0.0, y), min(width, x + wide), min(height, y + high)
    if right - left < 8 or bottom - top < 8:
        raise Refused("assist.box_too_small", width=width, height=height)
    least, most = radius_band_px or (LEAST_RADIUS_PX, min(right - left, bottom - top) / 2)
    most = max(most, least + 0.5)
    margin = int(min(most * 0.6, 0.3 * max(wide, high)) + 12)
    x0, y0 = max(0, int(left) - margin), max(0, int(top) - margin)
    part = rgb[y0 : min(height, int(bottom) + margin), x0 : min(width, int(right) + margin)]
    sign = np.float32(-1 if bright else 1)
    light, tone = sign * luminance_of(part), sign * lightness_of(part)
    spots = round_spots(tone, least, most)
    found: list[_Hole] = []
    for low in _octaves(least, most):
        group = [spot for spot in spots if low <= spot.radius < 2 * low]
        if group:
            xs, ys, radii = (np.array([getattr(spot, key) for spot in group]) for key in ("x", "y", "radius"))
            found.extend(_judged(rims_of(light, xs, ys, radii), tone, known=radius_band_px is not None))
    inside = [
        hole
        for hole in found
        if left <= hole.x + x0 < right and top <= hole.y + y0 < bottom and least * 0.8 <= hole.radius <= most * 1.2
    ]
    return tuple(
        HoleProposal(hole.x + x0, hole.y + y0, 2 * hole.radius, hole.sure, hole.score) for hole in _apart(inside)
    )


@dataclass(frozen=True, slots=True)
class _Hole:
    x: float
    y: float
    radius: float
    contrast: float
    score: float
    sure: bool


def _octaves(least: float, most: float) -> list[float]:
    lows = [least * 0.5]
    while lows[-1] * 2 <= most * 1.5:
        lows.append(lows[-1] * 2)
    return lows


def _judged(rims: Rims, tone: np.ndarray, *, known: bool) -> list[_Hole]:
    """Pass each rim through the gates; every gate says yes or no, the score says by how much."""
    radius = uncurved(rims.radius, rims.edge_sigma_px)
    snr = _spot_snr(tone, rims)
    holes = []
    for i in range(len(radius)):
        agreement = float(rims.agreement[i])
        share = float(rims.weakest_sector[i] / max(rims.contrast[i], 1e-6))
        if agreement < (AGREEMENT_BAND_KNOWN if known else AGREEMENT) or rims.weakest_sector[i] <= 0:
            continue
        if snr[i] < LEAST_SNR:
            continue
        score = agreement * min(1.0, 0.5 + share) * min(1.0, float(snr[i]) / 8)
        sure = agreement >= AGREEMENT and radius[i] >= SURE_RADIUS_PX
        holes.append(_Hole(float(rims.x[i]), float(rims.y[i]), float(radius[i]), float(rims.contrast[i]), score, sure))
    return holes


def _spot_snr(tone: np.ndarray, rims: Rims) -> np.ndarray:
    """Return each spot's depth against its surroundings over the scatter of equal discs beside it, in lightness.

    A disc's mean is compared with the means of 16 discs of its size (2 px at least) on a ring around it.
    """
    total = cv2.integral(tone, sdepth=cv2.CV_64F)
    rows, columns = tone.shape

    def mean(x: np.ndarray, y: np.ndarray, half: np.ndarray) -> np.ndarray:
        left, right = (np.clip(np.round(x + s * half), 0, columns).astype(int) for s in (-1, 1))
        top, bottom = (np.clip(np.round(y + s * half), 0, rows).astype(int) for s in (-1, 1))
        area = np.maximum((right - left) * (bottom - top), 1)
        empty = (right - left) * (bottom - top) <= 0
        value = (total[bottom, right] - total[top, right] - total[bottom, left] + total[top, left]) / area
        return np.where(empty, np.nan, value)

    half = np.maximum(rims.radius * 0.7, 0.8)
    centre = mean(rims.x, rims.y, half)
    angles = np.arange(16) * np.pi / 8
    around = []
    for ring in (2.2, 3.4):
        away = np.maximum(rims.radius * ring, rims.radius + 2.5)[:, None]
        around.append(
            mean(rims.x[:, None] + away * np.cos(angles), rims.y[:, None] + away * np.sin(angles), half[:, None])
        )
    discs = np.concatenate(around, axis=1)
    with np.errstate(all="ignore"):
        middle = np.nanmedian(discs, axis=1)
        scatter = 1.4826 * np.nanmedian(np.abs(discs - middle[:, None]), axis=1)
    return np.nan_to_num((middle - centre) / np.maximum(scatter, 0.8))


def _apart(holes: list[_Hole]) -> list[_Hole]:
    """Keep the better of any two that overlap."""
    kept: list[_Hole] = []
    for hole in sorted(holes, key=lambda hole: -hole.score * hole.contrast**0.25):
        if all(np.hypot(hole.x - other.x, hole.y - other.y) > 0.8 * max(hole.radius, other.radius) for other in kept):
            kept.append(hole)
    return kept

"""How sharp a photo is, as the blur of its edges in pixels.

Source: blur of an edge from the ratio of its gradients before and after a known further blur: Zhuo and Sim,
"Defocus map estimation from a single image", Pattern Recognition 44(9), 2011; here between two known blurs, which
bears noise better. Sampling efficiency as in ISO 19264-1:2021: the frequency where contrast falls to 10 %, over the
Nyquist limit.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np

from condition.imaging.lightness import luminance_of

TILE_PX = 512
TILE_LIMIT = 48
"""Tiles looked at: all of a 12 MP photo, an even choice of a larger one, so that time stays bounded."""
FEWEST_EDGE_PIXELS = 60
DIRECTIONS = 4

_FINE_PX, _COARSE_PX = 1.0, 2.0
_SLOPE_VARIANCE_PX2 = 1 / 3
"""Variance of the central difference's own box, two pixels wide."""
_NOISE_FACTOR = 3.0
_OF_STRONGEST = 0.4
_WEAKEST_SLOPE = 0.004
"""Edges looked at: slopes, in linear light a pixel, that stand out of the tile's quiet fifth and are not far below its
strongest, so that noise and fine texture have no say."""
_STEEPEST_STEP = 4.5
_STEP_SHARE = 0.5
"""A step of no blur at all lowers its squared slope 3.25 times, in-camera sharpening a little more, a hairline 10 and
noise 16 times: what is above is no step, and a tile with more of that than of steps is noise."""
_PIXEL_VARIANCE_PX2 = 1 / 12
_SHARPEST_SHARE = 25
_CLIPPED_LIGHT = 0.93
_CLIP_REACH_PX = 31
"""The soft border of a mirrored lamp is no edge of the instrument: nothing counts within 15 px of burnt-out white."""
RISE_PER_SIGMA = 2 * 1.2815515655446004
"""10 to 90 % rise of a Gaussian-blurred edge, in its sigma."""


@dataclass(frozen=True, slots=True)
class Sharpness:
    """Blur of the sharpest quarter of the textured picture; None where too few edges tell.

    across_px, along_px : Gaussian sigma of edges in the direction they are most and least blurred: far apart when the
        camera moved
    edge_px : 10 to 90 % width of an edge in the most blurred direction
    efficiency : 0..1, the part of the pixels' resolution that the picture really holds
    tiles : how many parts of the picture told something
    """

    across_px: float | None = None
    along_px: float | None = None
    tiles: int = 0

    @property
    def edge_px(self) -> float | None:
        return None if self.across_px is None else self.across_px * RISE_PER_SIGMA

    @property
    def efficiency(self) -> float | None:
        if self.across_px is None:
            return None
        return min(1.0, 2 * math.sqrt(math.log(10) / 2) / (math.pi * max(self.across_px, 1e-6)))


def measure(rgb: np.ndarray) -> Sharpness:
    """Return the sharpness of an upright sRGB photo, uint8 of shape (H, W, 3), any size."""
    blurs = np.array([_tile_blur(rgb[top:bottom, left:right]) for top, bottom, left, right in _tiles(rgb.shape)])
    told = ~np.isnan(blurs)
    if not told.any():
        return Sharpness()
    of_direction = told.sum(axis=0)
    sigmas = [
        np.percentile(blurs[told[:, d], d], _SHARPEST_SHARE)
        for d in range(DIRECTIONS)
        if 3 * of_direction[d] >= of_direction.max()
    ]
    return Sharpness(float(max(sigmas)), float(min(sigmas)), int(told.any(axis=1).sum()))


def _tiles(shape: tuple[int, ...]) -> list[tuple[int, int, int, int]]:
    height, width = shape[:2]
    tops, lefts = range(0, height, TILE_PX), range(0, width, TILE_PX)
    every = [(top, min(top + TILE_PX, height), left, min(left + TILE_PX, width)) for top in tops for left in lefts]
    whole = [tile for tile in every if tile[1] - tile[0] >= 32 and tile[3] - tile[2] >= 32]
    if len(whole) <= TILE_LIMIT:
        return whole
    return [whole[i] for i in np.linspace(0, len(whole) - 1, TILE_LIMIT).astype(int)]


def _slopes(light: np.ndarray, blur_px: float) -> tuple[np.ndarray, np.ndarray]:
    smooth = cv2.GaussianBlur(light, (0, 0), blur_px)
    return cv2.Sobel(smooth, cv2.CV_32F, 1, 0, scale=1 / 8), cv2.Sobel(smooth, cv2.CV_32F, 0, 1, scale=1 / 8)


def _tile_blur(rgb: np.ndarray) -> np.ndarray:
    """Return the median blur sigma in px for each of four edge directions, NaN where too few edges tell."""
    light = luminance_of(rgb)
    right, down = _slopes(light, _FINE_PX)
    fine = np.hypot(right, down)
    quiet, strongest = np.percentile(fine[::4, ::4], (20, 99))
    edge = _crests(fine, right, down) & (fine > max(_WEAKEST_SLOPE, _NOISE_FACTOR * quiet, _OF_STRONGEST * strongest))
    edge[:8], edge[-8:], edge[:, :8], edge[:, -8:] = False, False, False, False
    clipped = (light >= _CLIPPED_LIGHT).astype(np.uint8)
    if clipped.any():
        edge &= cv2.dilate(clipped, np.ones((_CLIP_REACH_PX, _CLIP_REACH_PX), np.uint8)) == 0
    sigmas = np.full(DIRECTIONS, np.nan)
    if edge.sum() < FEWEST_EDGE_PIXELS:
        return sigmas
    coarse = np.hypot(*_slopes(light, _COARSE_PX))[edge]
    ratio2 = (fine[edge] / np.maximum(coarse, 1e-9)) ** 2
    fine2, coarse2 = _FINE_PX**2 + _SLOPE_VARIANCE_PX2, _COARSE_PX**2 + _SLOPE_VARIANCE_PX2
    with np.errstate(divide="ignore"):
        variance = np.where(ratio2 > 1.01, (coarse2 - ratio2 * fine2) / (ratio2 - 1), np.inf)
    step = ratio2 < _STEEPEST_STEP
    if step.sum() < _STEP_SHARE * step.size:
        return sigmas
    blur = np.sqrt(np.clip(variance, _PIXEL_VARIANCE_PX2, 400))
    direction = np.round(np.arctan2(down[edge], right[edge]) / (math.pi / DIRECTIONS)).astype(int) % DIRECTIONS
    for d in range(DIRECTIONS):
        of_direction = blur[step & (direction == d)]
        if of_direction.size >= FEWEST_EDGE_PIXELS:
            sigmas[d] = np.median(of_direction)
    return sigmas


def _crests(slope: np.ndarray, right: np.ndarray, down: np.ndarray) -> np.ndarray:
    """Mark where the slope is greatest across the edge, looking along the nearer of the two axes."""
    wide, tall = np.pad(slope, ((0, 0), (1, 1))), np.pad(slope, ((1, 1), (0, 0)))
    across_x = (slope >= wide[:, :-2]) & (slope > wide[:, 2:])
    across_y = (slope >= tall[:-2]) & (slope > tall[2:])
    return np.where(np.abs(right) >= np.abs(down), across_x, across_y)

"""Find round holes (or bright discs) in a part of a photo and propose their centres and diameters."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from condition.errors import Refused
from condition.imaging.hole_candidates import round_spots
from condition.imaging.hole_edges import Rims, rims_of, uncurved
from condition.imaging.lightness import lightness_of, luminance_of

Box = tuple[float, float, float, float]
"""x, y, width, height in upright-photo pixels."""

LEAST_RADIUS_PX = 1.5
SURE_RADIUS_PX = 3.0
"""Smaller holes are proposals: some are missed, and their diameter is good to half a pixel at best."""
PROPOSED, SURE = 0.0, 1.5
"""Evidence (see :func:`_evidence`) from which a hole is proposed, and is sure."""
PROPOSED_SMALL, PROPOSED_SMALL_KNOWN = 1.0, -0.5
"""The same for radii below 3 px, which look alike to spots of the ground unless the size is known."""
_SMALL_WEIGHTS, _LARGE_WEIGHTS = np.array([5.0, 6.0, 6.0, -6.5]), np.array([13.0, 6.5, 2.5, -5.5])
"""Of agreement, contrast over the ground's, votes, and none: below and from 6 px radius."""
USUAL_VOTES, USUAL_ROOM_PX2 = 12.0, 90_000
"""In a larger box more spots of the ground look like holes by chance."""
CANDIDATES_AT_ONCE = 1500
LEAST_GROUND_CONTRAST, MOST_GROUND_CONTRAST = 0.04, 0.18
"""However even the ground, its own spots are taken to have this share of contrast (dust and noise); and never more than
this, for a box full of holes."""


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
    light = sign * luminance_of(part)
    spots = round_spots(sign * lightness_of(part), least, most)
    found: list[_Hole] = []
    for low in _octaves(least, most):
        group = [spot for spot in spots if low <= spot.radius < 2 * low]
        shares = -(-len(group) // CANDIDATES_AT_ONCE)
        for share in range(shares):
            x_px, y_px, radii, votes = (
                np.array([getattr(spot, key) for spot in group[share::shares]])
                for key in ("x", "y", "radius", "strength")
            )
            found.extend(
                _judged(rims_of(light, x_px, y_px, radii), votes, light.size, known=radius_band_px is not None)
            )
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
    evidence: float
    sure: bool

    @property
    def score(self) -> float:
        return float(1 / (1 + np.exp(-np.clip(self.evidence, -30, 30))))


def _octaves(least: float, most: float) -> list[float]:
    lows = [least * 0.5]
    while lows[-1] * 2 <= most * 1.5:
        lows.append(lows[-1] * 2)
    return lows


def _judged(rims: Rims, votes: np.ndarray, room_px2: int, *, known: bool) -> list[_Hole]:
    """Keep the rims with evidence enough, each darker inside in every of its sectors."""
    radius = uncurved(rims.radius, rims.edge_sigma_px)
    evidence = _evidence(rims, votes) - 0.5 * np.log(max(1.0, room_px2 / USUAL_ROOM_PX2))
    least = np.where(radius < SURE_RADIUS_PX, PROPOSED_SMALL_KNOWN if known else PROPOSED_SMALL, PROPOSED)
    kept = (evidence > least) & (rims.weakest_sector > 0)
    sure = kept & (evidence > SURE) & (radius >= SURE_RADIUS_PX)
    values = (rims.x[kept], rims.y[kept], radius[kept], evidence[kept], sure[kept])
    return [_Hole(float(x), float(y), float(r), float(e), bool(s)) for x, y, r, e, s in zip(*values, strict=True)]


def _evidence(rims: Rims, votes: np.ndarray) -> np.ndarray:
    """Return the log odds that each rim is a hole, not a spot of the ground.

    Three things tell the two apart: how many rays agree on one circle, how much its contrast stands out from that of
    the other candidates of its size in the box (most of which are spots of the ground), and how many edge pixels all
    about voted for its centre. The weights were fitted on drawn holes of 3 to 60 px radius, dark and bright, in wood
    and in rough ground.
    """
    contrast = rims.contrast / np.maximum(np.maximum(np.abs(rims.inside), np.abs(rims.outside)), 1e-3)
    ground = float(np.clip(np.median(np.abs(contrast)), LEAST_GROUND_CONTRAST, MOST_GROUND_CONTRAST))
    agreement, stands_out, voted, prior = np.where(rims.radius[:, None] < 6, _SMALL_WEIGHTS, _LARGE_WEIGHTS).T
    return (
        agreement * np.log(np.maximum(rims.agreement, 0.05))
        + stands_out * np.log(np.maximum(contrast, 0.005) / ground)
        + voted * np.log(np.maximum(votes, 0.1) / USUAL_VOTES)
        + prior
    )


def _apart(holes: list[_Hole]) -> list[_Hole]:
    """Keep the one with more evidence of any two of which one holds the other's middle."""
    kept: list[_Hole] = []
    for hole in sorted(holes, key=lambda hole: -hole.evidence):
        if all(np.hypot(hole.x - other.x, hole.y - other.y) > max(hole.radius, other.radius) for other in kept):
            kept.append(hole)
    return kept

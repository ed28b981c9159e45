"""A lens's radial distortion from several photos of the card sheet or of loose cards, to be kept for that camera."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from condition.errors import Refused
from condition.imaging.lens import half_diagonal_px
from condition.imaging.plane_faults import judged
from condition.imaging.plane_fit import Rectangle
from condition.imaging.plane_priors import camera_priors
from condition.imaging.plane_start import quad_size_px
from condition.records.plane import SizeCard

LEAST_CARDS = 3
"""Cards a photo needs before it says anything of the lens."""
BETWEEN_PHOTOS_SD = 0.001
"""What k1 changes with focusing from photo to photo, at least (common practice for close work)."""


@dataclass(frozen=True, slots=True)
class LensCalibration:
    """k1 : relative shift at the picture's corner; sd : its standard uncertainty; spread : of k1 over the photos;
    photos : how many were used; focal_35mm : mean of what the cards themselves say"""

    k1: float
    sd: float
    spread: float
    photos: int
    focal_35mm: float


def calibrate_lens(
    cards_per_photo: Sequence[Sequence[SizeCard]],
    width: int,
    height: int,
    focal_35mm: float | None = None,
    card_side_mm: float = 40.0,
    sizes_px: Sequence[tuple[int, int]] | None = None,
) -> LensCalibration:
    """Weighted mean of what each photo's cards say of the distortion, cards lying anywhere in one plane.

    Parameters
    ----------
    cards_per_photo : the cards of each photo, all of one camera, lens and size; tilt the camera this way and that, and
        fill the picture's corners
    sizes_px : upright (width, height) of each photo where some were taken upright and some across; else all are
        ``width`` by ``height``

    Raises
    ------
    Refused
        Fewer than two photos with three or more usable cards.
    """
    half = half_diagonal_px(width, height)
    sizes = [(width, height)] * len(cards_per_photo) if sizes_px is None else list(sizes_px)
    found: list[tuple[float, float, float]] = []
    for cards, size in zip(cards_per_photo, sizes, strict=True):
        priors, focal, centre, _ = camera_priors(*size, focal_35mm, k1=(0.0, 0.05))
        rectangles = [
            Rectangle(card.id, np.array(card.corners_px), card.corner_sd_px, (card_side_mm, card_side_mm))
            for card in cards
            if not card.left_out
        ]
        if len(rectangles) < LEAST_CARDS:
            continue
        rectangles.sort(key=lambda r: -quad_size_px(r.corners_px))
        verdict = judged(tuple(rectangles), priors, focal, centre, half)
        if not verdict.one_plane or len(verdict.fit.rectangles) < LEAST_CARDS:
            continue
        fit = verdict.fit
        noise = max(1.0, math.sqrt(fit.chi2 / fit.freedom))
        covariance = np.linalg.inv(fit.jacobian.T @ fit.jacobian)
        found.append((float(fit.camera[1]), noise * math.sqrt(covariance[1, 1]), float(fit.camera[0])))
    if len(found) < 2:
        raise Refused("scale.calibration", photos=str(len(found)))
    k1, sd, ln_f = (np.array(column) for column in zip(*found, strict=True))
    weights = 1 / (sd**2 + BETWEEN_PHOTOS_SD**2)
    mean = float((weights * k1).sum() / weights.sum())
    inner = 1 / float(weights.sum())
    spread = float(k1.std(ddof=1))
    birge = max(1.0, float((weights * (k1 - mean) ** 2).sum()) / (len(found) - 1))
    focal_found = math.exp(float((weights * ln_f).sum() / weights.sum()))
    return LensCalibration(
        mean,
        math.sqrt(inner * birge + BETWEEN_PHOTOS_SD**2),
        spread,
        len(found),
        focal_found / math.hypot(width, height) * math.hypot(36.0, 24.0),
    )

"""What is known of a photo's camera before any card is looked at."""

from __future__ import annotations

import math

import numpy as np

from condition.errors import Refused
from condition.imaging.lens import focal_px
from condition.imaging.plane_fit import Prior

FOCAL_SD, FOCAL_SD_UNKNOWN = 0.05, 0.30
FOCAL_UNKNOWN_35MM = 32.0
K1_SD, K2_SD = 0.0173, 0.005
"""Radial distortion at the corner of the picture: rectangular, 3 % (JCGM 100:2008, 4.3.7); half a percent for k2."""
CENTRE_SD = 0.005
"""Principal point, as a share of the photo's diagonal."""
FOCAL_35MM_RANGE = (8.0, 800.0)
DISTANCE_SD = 0.03


def camera_priors(
    width: int,
    height: int,
    focal_35mm: float | None,
    k1: tuple[float, float] = (0.0, K1_SD),
    camera_distance_mm: float | None = None,
) -> tuple[tuple[Prior, ...], float, np.ndarray, bool]:
    """What is known of the camera beforehand: (priors, focal length px, principal point px, focal length known)."""
    known = focal_35mm is not None and math.isfinite(focal_35mm) and _between(focal_35mm, FOCAL_35MM_RANGE)
    focal = focal_px(focal_35mm if known else FOCAL_UNKNOWN_35MM, width, height)
    centre = np.array([width / 2, height / 2])
    spread = CENTRE_SD * math.hypot(width, height)
    priors = [
        Prior("focal length", 0, math.log(focal), FOCAL_SD if known else FOCAL_SD_UNKNOWN),
        Prior("lens", 1, *k1),
        Prior("lens", 2, 0.0, K2_SD),
        Prior("principal point", 3, width / 2, spread),
        Prior("principal point", 4, height / 2, spread),
    ]
    if camera_distance_mm is not None:
        if not (math.isfinite(camera_distance_mm) and 30 <= camera_distance_mm <= 20000):
            raise Refused("scale.camera_distance", mm=f"{camera_distance_mm:g}")
        priors.append(Prior("focal length", -1, math.log(camera_distance_mm), DISTANCE_SD))
    return tuple(priors), focal, centre, known


def _between(value: float, limits: tuple[float, float]) -> bool:
    return limits[0] <= value <= limits[1]

"""A scale from two points a known distance apart: no tilt can be seen, so its likely size enters the uncertainty."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from condition.errors import Refused
from condition.imaging.lens import half_diagonal_px
from condition.imaging.plane import mm_per_px_at, relative_expanded
from condition.imaging.plane_priors import camera_priors
from condition.imaging.pose import NAMES, back_project, rotation, rotation_vector
from condition.records.plane import PhotoPlane, PlaneParameter
from condition.records.shapes import Pair

METHOD = "known distance 1"
TILT_SD_DEGREES = 6.0
"""How far off the vertical a photo taken 'from straight above' by hand is, about each axis (common practice)."""
PICK_SD_PX = 1.0


def plane_from_known_distance(
    first_px: Pair,
    second_px: Pair,
    mm: float,
    sd_mm: float,
    width: int,
    height: int,
    focal_35mm: float | None = None,
    pick_sd_px: float = PICK_SD_PX,
    surface_height_mm: float = 0.0,
    surface_height_sd_mm: float | None = None,
    tilt_sd_degrees: float = TILT_SD_DEGREES,
) -> PhotoPlane:
    """Scale a photo by two points whose distance is known, the camera taken to look straight at the surface.

    Parameters
    ----------
    mm, sd_mm : the distance and its standard uncertainty
    tilt_sd_degrees : assumed standard deviation of the tilt about each axis; near and far parts of a tilted surface
        differ in scale, and the error grows away from the line that was measured

    Raises
    ------
    Refused
        The points coincide, or the distance is none.
    """
    ends = np.array([first_px, second_px], float)
    if not (math.isfinite(mm) and 0 < mm <= 5000):
        raise Refused("scale.known_distance", mm=f"{mm:g}")
    if not (np.isfinite(ends).all() and np.hypot(*(ends[1] - ends[0])) >= 10):
        raise Refused("scale.known_points")
    if not math.isfinite(surface_height_mm):
        raise Refused("scale.height", mm=f"{surface_height_mm}")
    priors, focal, centre, known = camera_priors(width, height, focal_35mm)
    half = half_diagonal_px(width, height)

    def fitted(camera: np.ndarray, tilt: tuple[float, float], true_mm: float, px: np.ndarray) -> np.ndarray:
        """The camera vector whose plane, tilted about the middle of the distance, shows it `true_mm` long."""
        middle = np.append((px.mean(0) - camera[3:5]) / math.exp(camera[0]), 1.0)
        turn = rotation(np.array([tilt[0], tilt[1], 0.0]))
        vector = np.concatenate([camera[:5], rotation_vector(turn), 1000.0 * middle, [1.0, 0.0]])
        seen = back_project(px, vector, half)
        vector[8:11] *= true_mm / np.hypot(*(seen[1] - seen[0]))
        return vector

    start = np.array([math.log(focal), 0.0, 0.0, *centre])
    vector = fitted(start, (0.0, 0.0), mm, ends)
    if surface_height_mm > 0.8 * vector[10]:
        raise Refused("scale.height_too_great", mm=f"{surface_height_mm:g}", camera=f"{vector[10]:.0f}")
    tilt = math.radians(tilt_sd_degrees)
    along = (ends[1] - ends[0]) / np.hypot(*(ends[1] - ends[0]))
    shifted = ends + np.array([-0.5, 0.5])[:, None] * along * math.sqrt(2) * pick_sd_px
    sources = {
        "known distance": [fitted(start, (0, 0), mm + sd_mm, ends) - vector],
        "pick": [fitted(start, (0, 0), mm, shifted) - vector],
        "tilt": [fitted(start, t, mm, ends) - fitted(start, (-t[0], -t[1]), mm, ends) for t in ((tilt, 0), (0, tilt))],
    }
    sources["tilt"] = [column / 2 for column in sources["tilt"]]
    shrunk = np.zeros(len(NAMES))
    shrunk[11] = tilt**2
    sources["tilt"].append(shrunk)
    for prior in priors:
        moved = start.copy()
        moved[prior.index] += prior.sd
        sources.setdefault(prior.source, []).append(fitted(moved, (0, 0), mm, ends) - vector)
    height_sd = surface_height_sd_mm if surface_height_sd_mm is not None else (0.5 if surface_height_mm else 0.0)
    vector[12] = surface_height_mm
    if height_sd:
        column = np.zeros(len(NAMES))
        column[12] = height_sd
        sources["height"] = [column]
    plane = PhotoPlane(
        kind="known distance",
        parameters=tuple(PlaneParameter(n, float(v)) for n, v in zip(NAMES, vector, strict=True)),
        sources=tuple((name, tuple(tuple(map(float, c)) for c in block)) for name, block in sources.items()),
        width=width,
        height=height,
        surface_height_mm=surface_height_mm,
        surface_height_sd_mm=height_sd,
        lens="assumed",
        method=METHOD,
    )
    advice = [("scale.advice.no_tilt", (("degrees", f"{2 * tilt_sd_degrees:.0f}"),))]
    if not known and surface_height_mm:
        advice.append(("scale.advice.no_focal_height", ()))
    scale = float(mm_per_px_at(ends.mean(0)[None], plane)[0])
    return replace(plane, advice=tuple(advice), mm_per_px=scale, relative_expanded=relative_expanded(plane))

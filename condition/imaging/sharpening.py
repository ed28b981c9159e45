"""How far a camera's sharpening has moved an edge, told from the bright and dark rims it leaves along the edge.

Cameras sharpen coded values: the bright rim outweighs the dark one, and an edge found in linear light lies on its dark
side. The mean profile of a long straight edge shows the rims clearly enough to fit what made them.
"""

from __future__ import annotations

from functools import cache

import numpy as np

from condition.imaging.colour import coded, linear
from condition.imaging.edges import edge_offsets

STEP_PX = 0.25
REACH_PX = 12.0
RIM_SHARE = 0.008
"""Least overshoot, as a share of the edge's step in coded values, from which sharpening is corrected."""


@cache
def _places() -> np.ndarray:
    return np.arange(-4 * REACH_PX, 4 * REACH_PX + 1) * STEP_PX


def developed(blur_px: float, amount: float, radius_px: float, dark: float, bright: float, at: float) -> np.ndarray:
    """Coded profile over :func:`_places` of an edge at `at`, blurred, coded, and sharpened by an unsharp mask."""
    from scipy.special import ndtr

    wide = np.arange(-4 * REACH_PX - 60, 4 * REACH_PX + 61) * STEP_PX
    code = coded(dark + (bright - dark) * ndtr((wide - at) / blur_px))
    kernel = np.exp(-0.5 * (np.arange(-60, 61) * STEP_PX / radius_px) ** 2)
    soft = np.convolve(code, kernel / kernel.sum(), "valid")
    sharp = code[60:-60]
    return np.clip(sharp + amount * (sharp - soft), 0, 1)


def moved_by(profile: np.ndarray, reach_px: float) -> float:
    """How far out (+) or in (-) :func:`edge_offsets` finds an edge with this mean profile, for sharpening alone.

    profile : (M,) mean linear light across the edge at steps of :data:`STEP_PX`, dark side first, the edge as found in
        the middle; M = 2 * 4 * REACH_PX + 1
    reach_px : as it was given to :func:`edge_offsets`

    Returns 0 where no rim shows.
    """
    from scipy.optimize import least_squares

    places = _places()
    seen = coded(profile)
    near, far = (np.abs(places) > 1.0 * reach_px) & (places < 0), (np.abs(places) > 1.0 * reach_px) & (places > 0)
    dark, bright = float(np.median(seen[near])), float(np.median(seen[far]))
    step = bright - dark
    inside = np.abs(places) <= reach_px
    overshoot = max(float(seen[inside].max()) - bright, dark - float(seen[inside].min()))
    if step <= 0.02 or overshoot < RIM_SHARE * step:
        return 0.0
    light = (float(linear(dark)), float(linear(bright)))

    def left(values: np.ndarray) -> np.ndarray:
        blur, amount, radius, at = values
        return (developed(blur, amount, radius, *light, at) - seen)[inside] / step

    fitted = least_squares(
        left, [0.8, 0.5, 1.2, 0.05], bounds=([0.25, 0.0, 0.5, -1.0], [4.0, 4.0, 4.0, 1.0]), loss="soft_l1", f_scale=0.02
    )
    model = linear(developed(*fitted.x[:3], *light, 0.0))
    moved = float(edge_offsets(model[None], STEP_PX, reach_px, np.zeros(1))[0])
    return moved if np.isfinite(moved) else 0.0

"""How wide a followed crack is, from the light across it."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from condition.imaging.lightness import luminance_of
from condition.imaging.polyline import every
from condition.imaging.slot_fit import slots_of

STATIONS_AVERAGED = 15
MOST_PROFILES = 160
REACH_PX = 12.0
STEP_PX = 0.4
LEAST_MEASURABLE_PX = 3.0
BLUR_MULTIPLE = 3.0
"""Below about 3 sigma of the lens blur a slot's depth and width cannot be told apart: only a bound is given."""
STEADY_SHARE = 0.3
"""A width that scatters more than this share along the crack is read from noise, not from the crack."""
LEAST_PLAIN = 0.5
"""Share of the profiles that must show a crack at all."""


@dataclass(frozen=True, slots=True)
class CrackWidth:
    """The middle width along a crack, in pixels.

    px : the width, or with ``bound`` a limit that it stays below
    spread_px : standard deviation of the width along the crack (its own variation and the reading's noise)
    widest_px : the 95th percentile along it
    """

    px: float
    spread_px: float
    widest_px: float
    bound: bool


def crack_width(
    rgb: np.ndarray, path: np.ndarray, *, light: bool | None = None, most_profiles: int = MOST_PROFILES
) -> CrackWidth | None:
    """Measure the width across a path.

    Parameters
    ----------
    rgb : uint8, shape (H, W, 3), the upright photo
    path : float, shape (N, 2) of x, y in upright pixels
    most_profiles : read at so many places at most, evenly along the path
    light : the crack is lighter than its ground, or darker; default: whichever more of the profiles show

    Returns
    -------
    None where fewer than half of the profiles show a crack.

    Profiles in linear light are averaged over 15 px of path; each is fitted by a slot blurred by a Gaussian on sloping
    ground (:mod:`condition.imaging.slot_fit`).
    """
    offsets = np.arange(-REACH_PX, REACH_PX + STEP_PX / 2, STEP_PX)
    profiles = _profiles(rgb, path, offsets, most_profiles)
    signs = (1.0, -1.0) if light is None else ((-1.0,) if light else (1.0,))
    slots = max((slots_of(offsets, sign * profiles) for sign in signs), key=lambda found: float(found.depth.sum()))
    if len(slots.width) < LEAST_PLAIN * len(profiles) or not len(slots.width):
        return None
    measured = float(np.median(slots.width))
    spread = float(1.4826 * np.median(np.abs(slots.width - measured)))
    seen = min(measured, float(np.median(slots.at_half_depth)))
    steady = spread <= STEADY_SHARE * measured
    if steady and seen >= max(LEAST_MEASURABLE_PX, BLUR_MULTIPLE * float(np.median(slots.blur))):
        return CrackWidth(measured, spread, float(np.percentile(slots.width, 95)), False)
    return CrackWidth(
        float(np.median(slots.at_half_depth)), spread, float(np.percentile(slots.at_half_depth, 95)), True
    )


def _profiles(rgb: np.ndarray, path: np.ndarray, offsets: np.ndarray, most: int) -> np.ndarray:
    """Return linear luminance across the path, shape (profiles, samples), each the mean of about 15 stations."""
    stations = every(path, 1.0)
    ahead = np.gradient(stations, axis=0)
    ahead /= np.maximum(np.hypot(*ahead.T), 1e-9)[:, None]
    groups = np.array_split(np.arange(len(stations)), max(1, len(stations) // STATIONS_AVERAGED))
    groups = groups[:: max(1, -(-len(groups) // most))]
    profiles = []
    for group in groups:
        x = stations[group, :1] - ahead[group, 1:] * offsets
        y = stations[group, 1:] + ahead[group, :1] * offsets
        left, top = max(0, int(x.min()) - 2), max(0, int(y.min()) - 2)
        part = rgb[top : max(top + 1, int(y.max()) + 3), left : max(left + 1, int(x.max()) + 3)]
        if not part.size:
            continue
        where = ((values - corner - 0.5).astype(np.float32) for values, corner in ((x, left), (y, top)))
        across = cv2.remap(luminance_of(part), *where, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        profiles.append(across.mean(axis=0))
    return np.array(profiles, np.float64).reshape(-1, len(offsets))

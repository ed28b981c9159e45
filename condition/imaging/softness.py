"""How sharply a region ends: how far its edge moves when the level that draws it moves."""

from __future__ import annotations

import numpy as np

from condition.imaging.edges import window_of

STEP_PX = 0.5
LEVELS = (0.4, 0.6)
"""The edge could as well be drawn where 40 or 60 percent of the way between inside and outside is reached."""
LEAST_PX, MOST_PX = 0.1, 6.0


def edge_softness(rgb: np.ndarray, loop_px: np.ndarray, reach_px: float = 8.0, most_places: int = 400) -> float | None:
    """Standard uncertainty in px of where a closed edge lies, from the light across it; None where no edge shows.

    Parameters
    ----------
    rgb : upright photo, uint8 (H, W, 3)
    loop_px : (N, 2) points round the region

    The mean profile of a stretch of edge goes from the inside's level to the outside's; half the distance between its
    40 and 60 percent points, taken as a rectangular half width (JCGM 100:2008, 4.3.7), and the median over all
    stretches.
    """
    from condition.imaging.polyline import every

    places = every(np.vstack([loop_px, loop_px[:1]]), 1.0)
    if len(places) < 16:
        return None
    ahead = np.roll(places, -3, axis=0) - np.roll(places, 3, axis=0)
    size = np.hypot(*ahead.T)
    good = size > 1e-6
    out = np.column_stack([ahead[:, 1], -ahead[:, 0]])[good] / size[good, None]
    places = places[good]
    stride = max(1, len(places) // most_places)
    window = window_of(rgb, loop_px, reach_px + 2)
    offsets = np.arange(-reach_px, reach_px + STEP_PX / 2, STEP_PX)
    profiles = window.sample(places[::stride, None, :] + offsets[None, :, None] * out[::stride, None, :])
    profiles = profiles[np.isfinite(profiles).all(1)]
    if len(profiles) < 8:
        return None
    groups = np.array_split(profiles, max(1, len(profiles) // 5))
    found = [_between(group.mean(0), offsets) for group in groups]
    widths = [width for width in found if width is not None]
    if len(widths) < 0.5 * len(groups):
        return None
    return float(np.clip(np.median(widths) / 2 / np.sqrt(3), LEAST_PX, MOST_PX))


def _between(profile: np.ndarray, offsets: np.ndarray) -> float | None:
    """Distance between the places where a profile has gone 40 and 60 percent of its way."""
    inside, outside = profile[offsets < -4].mean(), profile[offsets > 4].mean()
    step = outside - inside
    if abs(step) < 0.05 * max(abs(inside), abs(outside), 1e-6):
        return None
    share = (profile - inside) / step
    near = np.abs(offsets) <= 4
    x, s = offsets[near], np.maximum.accumulate(share[near])
    if s[0] > LEVELS[0] or s[-1] < LEVELS[1]:
        return None
    first, second = (float(np.interp(level, s, x)) for level in LEVELS)
    return second - first

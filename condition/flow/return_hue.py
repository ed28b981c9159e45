"""A compact thing of another hue where a part was: another screw, another knob, a plug of other wood.

Other lamps make a surface lighter, darker or glossy and shift all colours of a place alike; they do not turn grey into
yellow in one spot while the part round it keeps its colour. The place is looked at where the part itself lies on the
later photo, found by its surroundings, so that a raised part does not show beside itself.
"""

from __future__ import annotations

from itertools import product

import numpy as np

from condition.flow.return_shapes import is_compact, sides_of
from condition.imaging.laid_crop import laid_crop
from condition.imaging.lightness import lab_of
from condition.records.shapes import Ring

OF_LIGHT = ("shadow", "reflection", "unsettled")
"""Reasons for doubt that another hue settles: what these name is lighter, darker or restless, not of another hue."""
LEAST_SD = 10.0
"""Standard deviations of the pair's noise from which a difference stands out on any photo."""
LEAST_PX, MOST_PX = 12.0, 400.0
"""Its longer side: smaller is the size of a glint on an edge, larger is a surface and no part."""
LEAST_ROUND, LEAST_SOLID = 0.5, 0.5
"""Shorter over longer side, and share of its convex hull that it fills."""
LEAST_HUE = 15.0
"""Distance in a* b* (CIE 15), of the medians inside, the surroundings' own step taken off."""
OTHER_HUE, LEAST_SHARE = 12.0, 0.6
"""Share of the inside that is this far off in a* b*: a lamp's image on metal fills a part of it only."""
OVER_AROUND = 4.0
"""Times what nine tenths of the surroundings stay below."""
ALIKE = 0.5
"""Correlation of the surroundings' lightness where the part lies."""
AROUND, AROUND_PX = 0.9, 14.0
"""Half the side of the square looked at, in the change's longer side, and pixels beyond it."""
FARTHEST_PX = 16
LOOKED_AT_PX = 160
"""A larger square is looked at with every second, third ... pixel."""


def is_another_hue(
    before: np.ndarray,
    after: np.ndarray,
    ring_px: Ring,
    homography: tuple[float, ...],
    tone: tuple[tuple[float, float], ...],
    residual_px: float,
) -> bool:
    """Return whether the inside of a ring became of another hue while the part round it stayed as it was.

    Parameters
    ----------
    before, after : uint8 (H, W, 3), sRGB, upright
    ring_px : in pixels of ``before``
    homography, tone : as :class:`condition.records.return_check.ReturnPair` keeps them
    residual_px : how far apart the two lie though they were laid over each other
    """
    import shapely
    from shapely.geometry import Polygon

    area = Polygon(ring_px.points).buffer(0)
    if area.is_empty or not LEAST_PX <= sides_of(area)[1] <= MOST_PX or not is_compact(area, LEAST_ROUND, LEAST_SOLID):
        return False
    left, top, right, bottom = area.bounds
    half = AROUND * max(right - left, bottom - top) + AROUND_PX
    middle = np.array([(left + right) / 2, (top + bottom) / 2])
    low = np.maximum(middle - half, 0).astype(int)
    high = np.minimum(middle + half, before.shape[1::-1]).astype(int)
    by = max(1, int(np.ceil(2 * half / LOOKED_AT_PX)))
    reach = int(min(FARTHEST_PX, np.ceil(2.5 * residual_px) + 2))
    was = lab_of(before[low[1] : high[1], low[0] : high[0]])[::by, ::by]
    now = lab_of(laid_crop(after, homography, (*map(int, low), *map(int, high)), tone))[::by, ::by]
    steps = max(1, int(np.ceil(reach / by)))
    if min(was.shape[:2]) < 4 * steps:
        return False
    rows, columns = np.mgrid[: was.shape[0], : was.shape[1]]
    x, y = columns * by + 0.5 + low[0], rows * by + 0.5 + low[1]
    hull = area.convex_hull
    inside = shapely.contains_xy(hull, x, y)
    around = ~shapely.contains_xy(hull.buffer(0.25 * np.sqrt(hull.area)), x, y)
    inner = (slice(steps, -steps), slice(steps, -steps))
    was, inside, around = was[inner], inside[inner], around[inner]
    if inside.sum() < 20 or around.sum() < 40:
        return False
    alike, moved = _where_it_lies(was, now, around, steps)
    return alike >= ALIKE and _differs_in_hue(was, moved, inside, around)


def _where_it_lies(was: np.ndarray, now: np.ndarray, around: np.ndarray, steps: int) -> tuple[float, np.ndarray]:
    """The later picture moved so that the surroundings agree best, and how well they do (correlation, -1..1)."""
    height, width = was.shape[:2]
    wanted = was[..., 0][around]
    wanted = wanted - wanted.mean()
    best, picture = -1.0, now[steps : steps + height, steps : steps + width]
    for down, across in product(range(2 * steps + 1), repeat=2):
        part = now[down : down + height, across : across + width]
        seen = part[..., 0][around]
        seen = seen - seen.mean()
        alike = float(wanted @ seen / max(1e-6, np.sqrt((wanted @ wanted) * (seen @ seen))))
        if alike > best:
            best, picture = alike, part
    return best, picture


def _differs_in_hue(was: np.ndarray, now: np.ndarray, inside: np.ndarray, around: np.ndarray) -> bool:
    step = (now - was)[..., 1:]
    step = step - np.median(step[around], axis=0)
    apart = np.hypot(*np.moveaxis(step, -1, 0))
    middle = float(np.hypot(*np.median(step[inside], axis=0)))
    usual = float(np.quantile(apart[around], 0.9))
    return bool(
        middle >= max(LEAST_HUE, OVER_AROUND * usual) and float((apart[inside] > OTHER_HUE).mean()) >= LEAST_SHARE
    )

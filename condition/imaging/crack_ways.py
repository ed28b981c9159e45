"""The ways from one start to every pixel of a window, a byte each: a preview is then worked out where it is shown."""

from __future__ import annotations

import math
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np

from condition.imaging.shortest_path import PathTree

DIRECTIONS = 48
STEP_BITS = 3
LIGHT_IS_PLAINER, NOTHING_PLAIN = 1 << 6, 1 << 7


@dataclass(frozen=True, slots=True)
class Ways:
    """The last step of the cheapest way from a start to each pixel of a window.

    left, top : the window's corner, upright pixels
    scale : upright pixels to one of the field's
    source : (row, column) of the start in the field
    steps : uint8, shape (H, W). Bits 0-2: the step for a dark crack, as :meth:`PathTree.everywhere` numbers them;
        bits 3-5: for a light one; bit 6: the way of a light one is the plainer; bit 7: neither is plainer than usual
    """

    left: int
    top: int
    scale: int
    source: tuple[int, int]
    steps: np.ndarray


def packed_ways(dark: PathTree, light: PathTree) -> np.ndarray:
    """Return the bytes of :class:`Ways` from the trees of the two tones, which may be one and the same."""
    (to_dark, dark_step), (to_light, light_step) = _grown(dark, light)
    reach = reach_from(dark.source, dark.shape)
    plain_dark, plain_light = (cost / usual_costs(cost, dark.source)[reach] for cost in (to_dark, to_light))
    steps = np.maximum(dark_step, 0).astype(np.uint8) | (np.maximum(light_step, 0).astype(np.uint8) << STEP_BITS)
    steps |= np.where(plain_light < plain_dark, np.uint8(LIGHT_IS_PLAINER), np.uint8(0))
    steps |= np.where(np.minimum(plain_dark, plain_light) >= 1, np.uint8(NOTHING_PLAIN), np.uint8(0))
    return steps


def _grown(dark: PathTree, light: PathTree) -> tuple[tuple[np.ndarray, np.ndarray], ...]:
    """Grow both trees at once, on a core each."""
    if dark is light:
        return (dark.everywhere(),) * 2
    with ThreadPoolExecutor(1) as pool:
        other = pool.submit(light.everywhere)
        return dark.everywhere(), other.result()


def reach_from(source: tuple[int, int], shape: tuple[int, int]) -> np.ndarray:
    """Return each pixel's distance from the source in whole pixels, int32, shape (H, W)."""
    down = np.arange(shape[0], dtype=np.float32)[:, None] - source[0]
    across = np.arange(shape[1], dtype=np.float32)[None] - source[1]
    return np.sqrt(down * down + across * across).astype(np.int32)


def usual_costs(cost: np.ndarray, source: tuple[int, int]) -> np.ndarray:
    """Return the usual cost of going so many pixels in any direction, float32, one for each distance in the window.

    It is the median over 48 directions, those that leave the window left out.
    """
    rows, columns = cost.shape
    farthest = math.ceil(math.hypot(max(source[0], rows - source[0]), max(source[1], columns - source[1]))) + 1
    angle = np.arange(DIRECTIONS) * (2 * np.pi / DIRECTIONS)
    reach = np.arange(farthest)[:, None]
    row, column = (source[0] + reach * np.sin(angle)).astype(int), (source[1] + reach * np.cos(angle)).astype(int)
    inside = (row >= 0) & (row < rows) & (column >= 0) & (column < columns)
    found = np.where(inside, cost[np.clip(row, 0, rows - 1), np.clip(column, 0, columns - 1)], np.float32(np.nan))
    found.sort(axis=1)
    count = inside.sum(axis=1)
    lower, upper = (found[np.arange(farthest), np.maximum(place, 0)] for place in ((count - 1) // 2, count // 2))
    middle = np.where(count > 0, (lower + upper) / 2, np.float32(np.nan))
    seen = np.flatnonzero(np.isfinite(middle))
    return np.maximum(np.interp(np.arange(farthest), seen, middle[seen]), 1e-9).astype(np.float32)

"""Numbers in the margins of a map, each tied to its mark by a leader that crosses no other.

Source: one-sided boundary labelling (Bekos, Kaufmann, Symvonis and Wolff 2007): straight leaders of least total
length cannot cross, so crossing pairs are swapped until there are none.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

from condition.records.shapes import Pair


@dataclass(frozen=True, slots=True)
class Callout:
    """Where the label of site ``index`` stands, and on which side of the map (-1 left, 1 right)."""

    index: int
    x: float
    y: float
    side: int


def place(sites: Sequence[Pair], left: float, right: float, top: float, bottom: float, pitch: float) -> list[Callout]:
    """Return a label for each site in the two margins, at least ``pitch`` apart and in the order of ``sites``.

    Parameters
    ----------
    left, right : x of the two label columns; ``top``, ``bottom``: the range of their y

    Raises
    ------
    ValueError
        More sites than the two columns hold; see :func:`capacity`.
    """
    if len(sites) > capacity(top, bottom, pitch):
        raise ValueError(f"{len(sites)} labels")
    room = capacity(top, bottom, pitch) // 2
    by_x = sorted(range(len(sites)), key=lambda k: sites[k][0])
    middle = (left + right) / 2
    on_left = sum(sites[k][0] < middle for k in by_x)
    shift = max(1, len(sites) // 5)
    split = min(max(on_left, len(sites) // 2 - shift), len(sites) // 2 + shift, room)
    split = max(split, len(sites) - room)
    placed = _column(by_x[:split], sites, left, top, bottom, pitch, -1)
    placed += _column(by_x[split:], sites, right, top, bottom, pitch, 1)
    return sorted(placed, key=lambda callout: callout.index)


def capacity(top: float, bottom: float, pitch: float) -> int:
    """Return how many labels fit in both columns."""
    return 2 * (math.floor((bottom - top) / pitch + 1e-9) + 1)


def _column(
    chosen: list[int], sites: Sequence[Pair], x: float, top: float, bottom: float, pitch: float, side: int
) -> list[Callout]:
    order = sorted(chosen, key=lambda k: (sites[k][1], sites[k][0]))
    ys = _spread([sites[k][1] for k in order], top, bottom, pitch)
    swapped = True
    while swapped:
        swapped = False
        for a, b in combinations(range(len(order)), 2):
            here, there = (x, ys[a]), (x, ys[b])
            if _cross(here, sites[order[a]], there, sites[order[b]]):
                order[a], order[b] = order[b], order[a]
                swapped = True
    return [Callout(k, x, y, side) for k, y in zip(order, ys, strict=True)]


def _spread(wanted: list[float], top: float, bottom: float, pitch: float) -> list[float]:
    """Return heights in the given order, at least a pitch apart, nearest to those wanted (pooled neighbours)."""
    blocks: list[list[float]] = []
    for k, y in enumerate(wanted):
        blocks.append([y - k * pitch, 1.0])
        while len(blocks) > 1 and blocks[-2][0] > blocks[-1][0]:
            value, weight = blocks.pop()
            before, count = blocks[-1]
            blocks[-1] = [(before * count + value * weight) / (count + weight), count + weight]
    highest = bottom - (len(wanted) - 1) * pitch
    spread = [min(max(value, top), highest) for value, weight in blocks for _ in range(round(weight))]
    return [y + k * pitch for k, y in enumerate(spread)]


def _cross(a: Pair, b: Pair, c: Pair, d: Pair) -> bool:
    return _turn(a, b, c) * _turn(a, b, d) < -1e-9 and _turn(c, d, a) * _turn(c, d, b) < -1e-9


def _turn(a: Pair, b: Pair, c: Pair) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])

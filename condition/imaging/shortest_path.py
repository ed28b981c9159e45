"""Cheapest 8-neighbour paths over a cost picture from one pixel, grown no further than asked and resumable.

Source: Dijkstra 1959 with the unordered buckets of Dial 1969 and Dinic 1978: when a bucket is no wider than the
cheapest step, every pixel in the first filled bucket is final, so that no heap is needed and the result is exact.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

_UNREACHED = -2
_SOURCE = -1
_NONE = -1


@njit(cache=True, nogil=True)
def _settle(
    cost, stride, distance, came, following, previous, heads, closed, state, target, per_bucket
):  # pragma: no cover
    """Settle pixels in order of distance until ``target`` is final or the queue is empty; all of them if it is < 0."""
    buckets = heads.size
    diagonal = np.float32(0.5 * math.sqrt(2.0))
    straight = np.float32(0.5)
    steps = np.array([-stride - 1, -stride, 1 - stride, -1, 1, stride - 1, stride, stride + 1])
    halves = np.array([diagonal, straight, diagonal, straight, straight, diagonal, straight, diagonal])
    while state[1] > 0 and (target < 0 or not closed[target]):
        slot = state[0] % buckets
        here = heads[slot]
        if here == _NONE:
            state[0] += 1
            continue
        after = following[here]
        heads[slot] = after
        if after != _NONE:
            previous[after] = _NONE
        closed[here] = True
        state[1] -= 1
        for way in range(8):
            there = here + steps[way]
            if closed[there]:
                continue
            candidate = distance[here] + halves[way] * (cost[here] + cost[there])
            if candidate >= distance[there]:
                continue
            if came[there] != _UNREACHED:
                before, beyond = previous[there], following[there]
                if before == _NONE:
                    heads[int(distance[there] * per_bucket) % buckets] = beyond
                else:
                    following[before] = beyond
                if beyond != _NONE:
                    previous[beyond] = before
                state[1] -= 1
            distance[there] = candidate
            came[there] = way
            slot = int(candidate * per_bucket) % buckets
            head = heads[slot]
            following[there] = head
            previous[there] = _NONE
            if head != _NONE:
                previous[head] = there
            heads[slot] = there
            state[1] += 1


@njit(cache=True, nogil=True)
def _walk_back(came, stride, target):  # pragma: no cover
    """Return the flat indices from the source to ``target``."""
    count = 1
    here = target
    while came[here] != _SOURCE:
        way = came[here]
        step = way if way < 4 else way + 1
        here -= (step // 3 - 1) * stride + step % 3 - 1
        count += 1
    path = np.empty(count, np.int64)
    here = target
    for place in range(count - 1, -1, -1):
        path[place] = here
        if place:
            way = came[here]
            step = way if way < 4 else way + 1
            here -= (step // 3 - 1) * stride + step % 3 - 1
    return path


class PathTree:
    """The cheapest paths from one pixel of a cost picture to all others, grown on demand.

    Parameters
    ----------
    cost : float32, shape (H, W), every value > 0; a step costs its length times the mean of its two pixels
    source : (row, column)
    allowed : bool, shape (H, W); paths keep to it. Default: everywhere.

    Asking again is a look-up as soon as the tree has grown past the pixel asked for.
    """

    def __init__(self, cost: np.ndarray, source: tuple[int, int], allowed: np.ndarray | None = None) -> None:
        self.shape = cost.shape
        self.source = source
        self._stride = cost.shape[1] + 2
        self._cost = np.pad(cost.astype(np.float32, copy=False), 1, mode="edge").ravel()
        closed = np.ones((cost.shape[0] + 2, self._stride), np.bool_)
        closed[1:-1, 1:-1] = False if allowed is None else ~allowed
        self._closed = closed.ravel()
        size = self._cost.size
        self._distance = np.full(size, np.inf, np.float32)
        self._came = np.full(size, _UNREACHED, np.int8)
        self._following = np.full(size, _NONE, np.int32)
        self._previous = np.full(size, _NONE, np.int32)
        narrowest = float(self._cost.min())
        self._per_bucket = 1 / narrowest
        longest = float(self._cost.max()) * math.sqrt(2)
        self._heads = np.full(int(longest / narrowest) + 3, _NONE, np.int32)
        start = self._flat(source)
        self._closed[start] = False
        self._distance[start] = 0
        self._came[start] = _SOURCE
        self._heads[0] = start
        self._state = np.array([0, 1], np.int64)

    def _flat(self, pixel: tuple[int, int]) -> int:
        return (pixel[0] + 1) * self._stride + pixel[1] + 1

    def _grow_to(self, flat: int) -> None:
        if flat < 0 or self._came[flat] == _UNREACHED or not self._closed[flat]:
            _settle(
                self._cost,
                self._stride,
                self._distance,
                self._came,
                self._following,
                self._previous,
                self._heads,
                self._closed,
                self._state,
                flat,
                self._per_bucket,
            )

    def cost_to(self, pixel: tuple[int, int]) -> float:
        """Return the cost of the cheapest path to (row, column); infinite where none leads."""
        flat = self._flat(pixel)
        self._grow_to(flat)
        return float(self._distance[flat])

    def everywhere(self) -> tuple[np.ndarray, np.ndarray]:
        """Grow over the whole picture; return the cost to each pixel and the last step of the way to it.

        Costs are float32, steps int8, both (H, W). Steps 0 to 7 go by (-1, -1), (-1, 0), (-1, 1), (0, -1), (0, 1),
        (1, -1), (1, 0), (1, 1) in (row, column); a negative one stands at the source and where no way leads.
        """
        self._grow_to(-1)
        distance, came = (grown.reshape(-1, self._stride)[1:-1, 1:-1] for grown in (self._distance, self._came))
        return distance, came

    def path_to(self, pixel: tuple[int, int]) -> np.ndarray:
        """Return the cheapest path as int, shape (N, 2) of (row, column), source first; N = 0 where none leads."""
        flat = self._flat(pixel)
        self._grow_to(flat)
        if self._came[flat] == _UNREACHED:
            return np.empty((0, 2), np.int64)
        rows, columns = np.divmod(_walk_back(self._came, self._stride, flat), self._stride)
        return np.stack([rows - 1, columns - 1], axis=1)


def warm_up() -> None:
    """Compile, or load from numba's cache, what the first path would wait for."""
    PathTree(np.ones((3, 3), np.float32), (0, 0)).path_to((2, 2))

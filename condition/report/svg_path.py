"""SVG path data flattened to polylines: the whole grammar, curves and arcs included.

Source: SVG 1.1 (Second Edition), 8.3 (path data grammar) and F.6.5 (arc from end points to centre).
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from condition.records.shapes import Pair

_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")
_GAP = re.compile(r"[\s,]*")
_ARGUMENTS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}
_ARC_FLAGS = (3, 4)
_MOST_STEPS = 512
MOST_POINTS = 200_000


class PathError(ValueError):
    """The text is not path data."""


@dataclass(frozen=True, slots=True)
class Subpath:
    points: tuple[Pair, ...]
    closed: bool


def flatten(data: str, tolerance: float) -> tuple[Subpath, ...]:
    """Return the subpaths of path data ``d`` as polylines in the path's own units.

    Parameters
    ----------
    tolerance : largest distance between a curve and its polyline, in the path's units

    Raises
    ------
    PathError
        The text breaks the grammar or a number is not finite.
    """
    pen = _Pen(tolerance)
    for command, arguments in _commands(data):
        pen.draw(command, arguments)
    return pen.finished()


def _commands(data: str) -> Iterator[tuple[str, list[float]]]:
    at, command = _GAP.match(data, 0).end(), ""
    if at < len(data) and data[at] not in "Mm":
        raise PathError("path data begins with a move")
    while at < len(data):
        if data[at].upper() in _ARGUMENTS:
            command = data[at]
            at += 1
        elif not command or command in "Zz":
            raise PathError(f"no command at character {at + 1}")
        arguments, at = _arguments(data, at, command.upper())
        yield command, arguments
        at = _GAP.match(data, at).end()
        command = {"M": "L", "m": "l"}.get(command, command)


def _arguments(data: str, at: int, command: str) -> tuple[list[float], int]:
    numbers: list[float] = []
    while len(numbers) < _ARGUMENTS[command]:
        at = _GAP.match(data, at).end()
        if command == "A" and len(numbers) in _ARC_FLAGS:
            if data[at : at + 1] not in ("0", "1"):
                raise PathError(f"arc flag at character {at + 1}")
            numbers.append(float(data[at]))
            at += 1
            continue
        found = _NUMBER.match(data, at)
        if not found:
            raise PathError(f"number expected at character {at + 1}")
        number = float(found.group())
        if not math.isfinite(number):
            raise PathError("number too large")
        numbers.append(number)
        at = found.end()
    return numbers, at


class _Pen:
    def __init__(self, tolerance: float) -> None:
        self.tolerance = tolerance
        self.here: Pair = (0.0, 0.0)
        self.start: Pair = (0.0, 0.0)
        self.handle: Pair | None = None
        self.last = ""
        self.points: list[Pair] = []
        self.done: list[Subpath] = []
        self.count = 0

    def finished(self) -> tuple[Subpath, ...]:
        self._lift(closed=False)
        return tuple(self.done)

    def draw(self, command: str, numbers: list[float]) -> None:
        kind, base = command.upper(), self.here if command.islower() else (0.0, 0.0)
        if kind == "Z":
            self._lift(closed=True)
            self.here = self.start
        elif kind == "H":
            self._to((numbers[0] + base[0], self.here[1]))
        elif kind == "V":
            self._to((self.here[0], numbers[0] + base[1]))
        elif kind == "A":
            self._arc(*numbers[:5], (numbers[5] + base[0], numbers[6] + base[1]))
        else:
            pairs = [(x + base[0], y + base[1]) for x, y in zip(numbers[::2], numbers[1::2], strict=True)]
            self._straight_or_bezier(kind, pairs)
        if kind not in "CSQT":
            self.handle = None
        self.last = kind

    def _straight_or_bezier(self, kind: str, pairs: list[Pair]) -> None:
        if kind == "M":
            self._lift(closed=False)
            self.here = self.start = pairs[0]
        elif kind == "L":
            self._to(pairs[0])
        elif kind in "CS":
            first = self._mirrored("CS") if kind == "S" else pairs[0]
            second, end = pairs[-2:]
            self._cubic(first, second, end)
            self.handle = second
        else:
            middle = self._mirrored("QT") if kind == "T" else pairs[0]
            end = pairs[-1]
            self._cubic(_between(self.here, middle, 2 / 3), _between(end, middle, 2 / 3), end)
            self.handle = middle

    def _mirrored(self, after: str) -> Pair:
        if self.handle is None or self.last not in after:
            return self.here
        return (2 * self.here[0] - self.handle[0], 2 * self.here[1] - self.handle[1])

    def _lift(self, *, closed: bool) -> None:
        if len(self.points) > 1:
            self.done.append(Subpath(tuple(self.points), closed))
        self.points = []

    def _to(self, point: Pair) -> None:
        self.count += 1
        if self.count > MOST_POINTS:
            raise PathError(f"more than {MOST_POINTS} points")
        if not self.points:
            self.points.append(self.here)
        self.points.append(point)
        self.here = point

    def _cubic(self, first: Pair, second: Pair, end: Pair) -> None:
        start = self.here
        bend = max(
            math.hypot(start[0] - 2 * first[0] + second[0], start[1] - 2 * first[1] + second[1]),
            math.hypot(first[0] - 2 * second[0] + end[0], first[1] - 2 * second[1] + end[1]),
        )
        steps = _steps(math.sqrt(0.75 * bend / self.tolerance))
        self._along(lambda t: _cubic_at(start, first, second, end, t), steps, end)

    def _arc(self, rx: float, ry: float, turn: float, large: float, sweep: float, end: Pair) -> None:
        start = self.here
        if start == end:
            return
        rx, ry = abs(rx), abs(ry)
        if rx == 0 or ry == 0:
            self._to(end)
            return
        cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
        half_x, half_y = (start[0] - end[0]) / 2, (start[1] - end[1]) / 2
        x, y = cos * half_x + sin * half_y, -sin * half_x + cos * half_y
        grow = math.sqrt(max(1.0, (x / rx) ** 2 + (y / ry) ** 2))
        rx, ry = rx * grow, ry * grow
        left = max(0.0, (rx * ry) ** 2 - (rx * y) ** 2 - (ry * x) ** 2) / ((rx * y) ** 2 + (ry * x) ** 2)
        side = math.sqrt(left) * (-1 if large == sweep else 1)
        cx, cy = side * rx * y / ry, -side * ry * x / rx
        centre = (
            cos * cx - sin * cy + (start[0] + end[0]) / 2,
            sin * cx + cos * cy + (start[1] + end[1]) / 2,
        )
        angle = math.atan2((y - cy) / ry, (x - cx) / rx)
        span = math.atan2((-y - cy) / ry, (-x - cx) / rx) - angle
        if sweep and span < 0:
            span += 2 * math.pi
        elif not sweep and span > 0:
            span -= 2 * math.pi
        step = 2 * math.acos(max(0.0, 1 - self.tolerance / max(rx, ry, self.tolerance)))
        steps = _steps(abs(span) / step)

        def at(t: float) -> Pair:
            u, v = rx * math.cos(angle + t * span), ry * math.sin(angle + t * span)
            return (cos * u - sin * v + centre[0], sin * u + cos * v + centre[1])

        self._along(at, steps, end)

    def _along(self, at: Callable[[float], Pair], steps: int, end: Pair) -> None:
        for k in range(1, steps):
            self._to(at(k / steps))
        self._to(end)


def _steps(needed: float) -> int:
    return min(_MOST_STEPS, max(1, math.ceil(needed)))


def _between(a: Pair, b: Pair, share: float) -> Pair:
    return (a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1]))


def _cubic_at(a: Pair, b: Pair, c: Pair, d: Pair, t: float) -> Pair:
    s = 1 - t
    weights = (s**3, 3 * s * s * t, 3 * s * t * t, t**3)
    return tuple(sum(w * p[k] for w, p in zip(weights, (a, b, c, d), strict=True)) for k in (0, 1))

"""Follow a crack between clicks."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import islice, pairwise
from threading import Lock
from typing import Literal

import cv2
import numpy as np

from condition.errors import Refused
from condition.imaging.crack_cost import crack_cost, dip, local_contrast
from condition.imaging.crack_ways import Ways, packed_ways
from condition.imaging.crack_width import CrackWidth, crack_width
from condition.imaging.lightness import lightness_of
from condition.imaging.polyline import every, smoothed, thinned
from condition.imaging.shortest_path import PathTree
from condition.records.shapes import Line, Pair

Tone = Literal["dark", "light"]
Box = tuple[int, int, int, int]
"""x, y, width, height in whole upright pixels."""

SMOOTHING_PX = 2.5
REACHES_PX = (288, 500)
"""Half the sides of the first windows made about a start; farther ones are doubled from the last."""
PREVIEW_REACHES_PX = (96, 192, 512)
"""The same for previews, which come sooner the smaller the window is."""
STAGE_PX = 256
"""A path found at reduced scale is followed again at full scale in stages of this length."""
OVERSHOOT_PX = 40
THINNING_PX = 0.1
LARGEST_SEARCH_PX = 1_000_000
"""Windows above this many pixels are searched at reduced scale, then again at full scale in a corridor."""
LARGEST_PREVIEW_PX, LARGEST_ROUGH_PREVIEW_PX = 400_000, 70_000
CORRIDOR_PX = 16
LEAST_MARGIN_PX = 40
LEAST_LEG_PX = 2.0
WIDTH_PLACES = 24
MARGIN_SHARE = 0.4
LEAST_DIP = 0.8
"""A path that is on average less than this much (L*) darker, or lighter, than beside it follows noise, not a crack."""
PLAIN_DIP = 3.0
"""A path shallower than this must at least be easier than the usual path of the same reach."""
LEAST_CONTRAST, CONTRAST_POWER = 0.05, 0.125
"""Of two tones the one is taken whose way is the easier for its reach, and a little the more so the more it stands out:
its ease is divided by this power of its mean contrast, which counts as 0.05 at least."""


class NoPathError(Refused):
    """Both points lie in even ground: there is nothing to follow."""

    def __init__(self) -> None:
        super().__init__("assist.nothing_to_follow")

    def __reduce__(self):
        return NoPathError, ()


@dataclass(frozen=True, slots=True)
class TracedLine:
    """A followed crack.

    line : upright-photo pixels, from the first click to the last
    legs : the line's pieces, one from each click to the next, each of which can be followed anew
    width : over its whole length; None where the photo shows too little of it
    tone : whether it is darker or lighter than the ground
    """

    line: Line
    legs: tuple[Line, ...]
    width: CrackWidth | None
    tone: Tone


@dataclass(frozen=True, slots=True)
class Leg:
    """A path from one click to the next: points (N, 2) of x, y in upright pixels, a vertex a pixel; how much easier it
    was than the way to anywhere else as far (below 1)."""

    points: np.ndarray
    plainness: float
    tone: Tone


class CrackField:
    """The cost of following a crack inside one window, worked out once, with the paths from the last start kept.

    Any end in the window is then answered by a look-up, so that a preview keeps up with the pointer. May be asked from
    several threads.

    Parameters
    ----------
    rgb : uint8, shape (H, W, 3), the whole upright photo (only the window is read)
    window : part of the photo to search in; default: all of it
    tone : 'dark' or 'light' cracks only; default: whichever the path shows more plainly
    most_px : larger windows are searched at reduced scale
    """

    def __init__(
        self,
        rgb: np.ndarray,
        window: Box | None = None,
        tone: Tone | None = None,
        most_px: int = LARGEST_SEARCH_PX,
    ) -> None:
        height, width = rgb.shape[:2]
        x, y, wide, high = window or (0, 0, width, height)
        self.window: Box = (max(0, x), max(0, y), min(width, x + wide) - max(0, x), min(height, y + high) - max(0, y))
        self._rgb = rgb
        self._tones: tuple[Tone, ...] = (tone,) if tone else ("dark", "light")
        self._lock = Lock()
        x, y, wide, high = self.window
        self.scale = 1
        while wide * high / self.scale**2 > most_px:
            self.scale *= 2
        part = rgb[y : y + high, x : x + wide]
        if self.scale > 1:
            size = (max(1, wide // self.scale), max(1, high // self.scale))
            part = cv2.resize(part, size, interpolation=cv2.INTER_AREA)
        lightness = lightness_of(part)
        self._contrast, self._dip = local_contrast(lightness), dip(lightness)
        self._costs: dict[Tone, np.ndarray] = {}
        self._trees: dict[Tone, PathTree] = {}
        self._stages: dict[tuple, np.ndarray] = {}

    def leg(self, start: Pair, end: Pair) -> Leg:
        """Return the path between two clicks at full scale.

        Raises
        ------
        NoPathError
            The path is hardly darker, or lighter, than what lies beside it.
        """
        with self._lock:
            path, plainness, tone = self._easiest(start, end)
            depth = float(self._dip[path[:, 0], path[:, 1]].mean()) * (1 if tone == "dark" else -1)
            if depth < LEAST_DIP or (depth < PLAIN_DIP and plainness >= 1):
                raise NoPathError
            points = (path[:, ::-1] + 0.5) * self.scale + np.array(self.window[:2], float)
            points[0], points[-1] = start, end
            if self.scale > 1:
                points = self._at_full_scale(points, tone)
        return Leg(smoothed(points, SMOOTHING_PX), plainness, tone)

    def ways(self, start: Pair) -> Ways:
        """Return the way from a start to every pixel of the window; what :meth:`leg` would follow."""
        with self._lock:
            source = self._pixel(start)
            dark, light = self._tree(self._tones[0], source), self._tree(self._tones[-1], source)
            return Ways(*self.window[:2], self.scale, source, packed_ways(dark, light))

    def _easiest(self, start: Pair, end: Pair) -> tuple[np.ndarray, float, Tone]:
        source, target = self._pixel(start), self._pixel(end)
        found = []
        for tone in self._tones:
            tree = self._tree(tone, source)
            path, plainness = tree.path_to(target), _plainness(tree, target)
            contrast = float(self._contrast[path[:, 0], path[:, 1]].mean()) * (-1 if tone == "dark" else 1)
            found.append((plainness / max(contrast, LEAST_CONTRAST) ** CONTRAST_POWER, path, plainness, tone))
        _, path, plainness, tone = min(found, key=lambda way: way[0])
        return path, plainness, tone

    def _tree(self, tone: Tone, source: tuple[int, int]) -> PathTree:
        tree = self._trees.get(tone)
        if tree is None or tree.source != source:
            if tone not in self._costs:
                self._costs[tone] = crack_cost(self._contrast if tone == "dark" else -self._contrast)
            tree = self._trees[tone] = PathTree(self._costs[tone], source)
            self._stages.clear()
        return tree

    def _pixel(self, point: Pair) -> tuple[int, int]:
        x, y = self.window[:2]
        rows, columns = self._contrast.shape
        return (
            min(rows - 1, max(0, int((point[1] - y) / self.scale))),
            min(columns - 1, max(0, int((point[0] - x) / self.scale))),
        )

    def _at_full_scale(self, rough: np.ndarray, tone: Tone) -> np.ndarray:
        """Follow a rough path again, stage by stage, each from where the last one came to lie.

        Every stage looks past its end, so that its end is free to lie on the crack; stages already followed are kept.
        """
        rough = every(rough, 1.0)
        ends = [*range(STAGE_PX, len(rough) - OVERSHOOT_PX, STAGE_PX), len(rough) - 1]
        points, here, first = [rough[:1]], rough[0], 0
        for end in ends:
            last = min(len(rough) - 1, end + OVERSHOOT_PX)
            key = (tone, tuple(here), tuple(np.round(rough[last], 3)), last)
            stage = self._stages.get(key)
            if stage is None:
                stage = _refined(self._rgb, here, rough[first : last + 1], tone, CORRIDOR_PX + 2 * self.scale)
                self._stages[key] = stage
            if last > end:
                stage = stage[: 1 + int(np.argmin(np.hypot(*(stage - rough[end]).T)))]
            points.append(stage[1:])
            here, first = stage[-1], end
        whole = np.concatenate(points)
        whole[-1] = rough[-1]
        return whole


def window_between(start: Pair, end: Pair, shape: tuple[int, ...]) -> Box:
    """Return the part of a photo of ``shape`` (rows, columns, ...) to search for a path between two clicks."""
    across, down = abs(start[0] - end[0]), abs(start[1] - end[1])
    margin = max(LEAST_MARGIN_PX, MARGIN_SHARE * max(across, down))
    left, top = max(0, int(min(start[0], end[0]) - margin)), max(0, int(min(start[1], end[1]) - margin))
    right = min(shape[1], math.ceil(max(start[0], end[0]) + margin))
    bottom = min(shape[0], math.ceil(max(start[1], end[1]) + margin))
    return left, top, right - left, bottom - top


def window_about(start: Pair, end: Pair, shape: tuple[int, ...]) -> Box:
    """Return a window about a start that holds the end with room; the same one for most ends near by."""
    reach = max(abs(start[0] - end[0]), abs(start[1] - end[1])) * (1 + MARGIN_SHARE / 2) + LEAST_MARGIN_PX
    half = next(half for half in _widening(REACHES_PX) if half >= reach)
    return window_round(start, half, shape)


def preview_ways(
    rgb: np.ndarray, start: Pair, turn: int, tone: Tone | None = None, *, rough: bool = False
) -> tuple[Ways, int]:
    """Return the ways from a start within a window about it, and how far it reaches where the photo does.

    Turn 0 is the smallest window, 1, 2 ... are wider ones, in the end at reduced scale; rough ones sooner.
    """
    half = next(islice(_widening(PREVIEW_REACHES_PX), turn, None))
    most_px = LARGEST_ROUGH_PREVIEW_PX if rough else LARGEST_PREVIEW_PX
    field = CrackField(rgb, window_round(start, half, rgb.shape), tone, most_px)
    return field.ways(start), half


def _widening(reaches: tuple[int, ...]) -> Iterator[int]:
    yield from reaches
    half = reaches[-1]
    while True:
        half *= 2
        yield half


def window_round(start: Pair, half: int, shape: tuple[int, ...]) -> Box:
    """Return the window that reaches so far from a start to every side, cut to the photo."""
    left, top = max(0, int(start[0]) - half), max(0, int(start[1]) - half)
    return left, top, min(shape[1], int(start[0]) + half) - left, min(shape[0], int(start[1]) + half) - top


def trace(
    rgb: np.ndarray,
    points: tuple[Pair, ...],
    tone: Tone | None = None,
    field_for: Callable[[Pair, Pair], CrackField] | None = None,
) -> TracedLine:
    """Follow a crack from click to click.

    Parameters
    ----------
    rgb : uint8, shape (H, W, 3), the upright photo
    points : two or more clicks on the crack, upright-photo pixels
    tone : 'dark' or 'light' where known; default: whichever is plainer
    field_for : gives a kept field that holds two clicks; default: a new one about each pair

    Raises
    ------
    NoPathError
        Between two of the clicks there is nothing that differs from the ground.
    Refused
        A click lies outside the photo, or two clicks in a row on one spot.

    Source: minimal-cost path (Dijkstra 1959) over valley depth, after the lightness is divided by its local contrast.
    """
    height, width = rgb.shape[:2]
    for x, y in points:
        if not (0 <= x <= width and 0 <= y <= height):
            raise Refused("assist.point_outside", x=f"{x:g}", y=f"{y:g}", width=width, height=height)
    pairs = list(pairwise(points))
    if not pairs or any(math.dist(start, end) < LEAST_LEG_PX for start, end in pairs):
        raise Refused("assist.two_points")
    if field_for is None:

        def field_for(start: Pair, end: Pair) -> CrackField:
            return CrackField(rgb, window_between(start, end, rgb.shape), tone)

    legs = [field_for(start, end).leg(start, end) for start, end in pairs]
    tones = [leg.tone for leg in legs]
    overall: Tone = max(("dark", "light"), key=tones.count)
    lines = [thinned(leg.points, THINNING_PX) for leg in legs]
    whole = np.concatenate([lines[0], *(line[1:] for line in lines[1:])])
    every_vertex = np.concatenate([leg.points for leg in legs])
    return TracedLine(
        Line(_pairs(whole)),
        tuple(Line(_pairs(line)) for line in lines),
        crack_width(rgb, every_vertex, light=overall == "light", most_profiles=WIDTH_PLACES),
        overall,
    )


def _plainness(tree: PathTree, target: tuple[int, int]) -> float:
    """Return the cost of the way to ``target`` over the usual cost of going as far in any direction."""
    rows, columns = tree.shape
    reach = math.dist(tree.source, target)
    costs = []
    for angle in np.arange(0, 2 * np.pi, np.pi / 24):
        row = int(tree.source[0] + reach * math.sin(angle))
        column = int(tree.source[1] + reach * math.cos(angle))
        if 0 <= row < rows and 0 <= column < columns:
            costs.append(tree.cost_to((row, column)))
    if not costs:
        return 1.0
    return tree.cost_to(target) / max(float(np.median(costs)), 1e-9)


def _refined(rgb: np.ndarray, start: np.ndarray, rough: np.ndarray, tone: Tone, corridor_px: int) -> np.ndarray:
    """Follow the crack at full scale from ``start`` to the rough path's end, within a corridor about it."""
    height, width = rgb.shape[:2]
    halo = corridor_px + LEAST_MARGIN_PX
    left, top = (max(0, int(edge)) for edge in rough.min(axis=0) - halo)
    right, bottom = (
        min(limit, int(edge)) for limit, edge in zip((width, height), rough.max(axis=0) + halo, strict=True)
    )
    contrast = local_contrast(lightness_of(rgb[top:bottom, left:right]))
    allowed = np.zeros(contrast.shape, np.uint8)
    corner = np.array([left, top], float)
    cv2.polylines(allowed, [np.int32(np.round(rough - corner - 0.5))], False, 1, 2 * corridor_px)
    cost = crack_cost(contrast if tone == "dark" else -contrast)
    source, target = (
        (min(cost.shape[0] - 1, int(y - top)), min(cost.shape[1] - 1, int(x - left))) for x, y in (start, rough[-1])
    )
    path = PathTree(cost, source, allowed.astype(bool)).path_to(target)
    if not len(path):
        return rough
    points = path[:, ::-1] + 0.5 + corner
    points[0] = start
    return points


def _pairs(points: np.ndarray) -> tuple[Pair, ...]:
    return tuple((float(x), float(y)) for x, y in points)

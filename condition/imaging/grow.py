"""Grow a region of one colour, such as a finish loss, from a click, or snap a rough ring to its edge."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np

from condition.errors import Refused
from condition.imaging.colour_regions import (
    border_share,
    boundary_strength,
    colour_distance,
    component_at,
    cut,
    depth_inside,
    filled,
    largest_part,
    likelier_inside,
    rim_of,
)
from condition.imaging.lightness import lab_of
from condition.imaging.region_edge import LEAST_HOLE_SHARE, area_of, perimeter_of, region_edge
from condition.imaging.working_window import Window, window_of, windows_about
from condition.records.shapes import Pair, Ring

BAND_SHARE = 0.12
"""Breadth of the band in which the edge is settled, over the square root of the region's area."""
CORE_DEPTH_SHARE = 0.6
LEAST_CORE_SHARE = 0.1
SURELY_LIKELIER, HARDLY_LIKELIER = 1.0, 0.3
"""Natural logarithms of how many times as common a colour is inside the ring as outside."""
RING_MARGIN_SHARE = 0.3
NEAR_ENOUGH = 0.5
"""A boundary this share as strong as the best of the next wider window is the one meant."""
THRESHOLDS = {0: np.geomspace(3.0, 48.0, 20), 3: np.geomspace(1.5, 24.0, 20)}
"""Distances in Lab from the clicked colour that are tried, by the blur (px) that the surface is looked at through: as
it is, and with figure and streaks evened out."""
EVEN_STRENGTH = 1.5
"""Gradient (Lab a pixel) added to that of the surface beside a boundary, before the boundary's own is divided by it."""
BESIDE_PX = (4, 14)
TOUCHING_SHARE = 0.06
"""A region that runs along its window's border for more than this share of its outline does not end in it."""
OWN_AMOUNT = 0.5
"""The slider's middle: as far as the photo itself suggests."""
AMOUNTS = np.linspace(0, 1, 11)
SOFTNESS_STEP = 0.1
LEAST_EDGE_SD_PX = 0.3


@dataclass(frozen=True, slots=True)
class GrownRegion:
    """A region with its edge where the colour is half way between inside and outside.

    ring : upright-photo pixels, islands as holes
    amount : 0..1, how far it was grown; 0.5 is as far as the photo suggests
    sweep : (amount, area in px2) along the slider, least first, at working scale
    area_px2 : area inside the ring, its holes taken off
    softness_px2 : half the change of area when the amount changes by a tenth either way: the edge's own vagueness
    edge_sd_px : the same as a standard uncertainty of where the edge lies
    """

    ring: Ring
    amount: float
    sweep: tuple[tuple[float, float], ...]
    area_px2: float
    softness_px2: float
    edge_sd_px: float


def grow_from_point(
    rgb: np.ndarray,
    point: Pair,
    amount: float | None = None,
    *,
    add: tuple[Pair, ...] = (),
    away: tuple[Pair, ...] = (),
) -> GrownRegion:
    """Propose the region of one colour around a click.

    Parameters
    ----------
    rgb : uint8, shape (H, W, 3), the upright photo
    point : upright-photo pixels, inside the region
    amount : 0..1 how far to grow; default and 0.5: to where the boundary is strongest
    add, away : further clicks, inside and outside the region

    Raises
    ------
    Refused
        A click lies outside the photo, or nothing is held by it.
    """
    _require_inside(rgb, (point, *add, *away))
    clicks = (point, *add)
    found = _nearest_boundary(windows_about(rgb, clicks), clicks, away)
    if found.score <= 0:
        raise Refused("assist.nothing_to_grow")
    window, threshold = found.window, found.threshold
    inside, outside = window.pixels(clicks), window.pixels(away)
    distance = _distance(lab_of(window.rgb), inside, outside, found.grain_px)
    own = _settled(window, component_at(distance <= threshold, inside), inside, outside)

    def at(asked: float) -> np.ndarray:
        alike = component_at(distance <= threshold * 16 ** (asked - OWN_AMOUNT), inside)
        return component_at(_between(own, alike, asked), inside)

    return _region(rgb, window, at, amount)


def grow_from_ring(
    rgb: np.ndarray,
    ring: Ring,
    amount: float | None = None,
    *,
    add: tuple[Pair, ...] = (),
    away: tuple[Pair, ...] = (),
) -> GrownRegion:
    """Snap a rough ring drawn round a region to the region's edge.

    Parameters
    ----------
    rgb : uint8, shape (H, W, 3), the upright photo
    ring : upright-photo pixels, drawn loosely round the region
    amount : 0..1 how far to grow; default and 0.5: to the cheapest cut between the two colours
    add, away : further clicks, inside and outside the region

    Raises
    ------
    Refused
        The ring lies outside the photo, or is too small to hold anything.

    Source: GrabCut (Rother, Kolmogorov and Blake 2004) with a sure core.
    """
    points = np.array(ring.points)
    extent = np.ptp(points, axis=0)
    if extent.min() < 4:
        raise Refused("assist.ring_too_small")
    _require_inside(rgb, (tuple((points.min(axis=0) + points.max(axis=0)) / 2), *add, *away))
    margin = RING_MARGIN_SHARE * float(extent.max()) + 8
    window = window_of(rgb, *(points.min(axis=0) - margin), *(points.max(axis=0) + margin))
    drawn = window.painted(ring)
    inside, outside = window.pixels(add), window.pixels(away)
    lab = lab_of(window.rgb)
    labels = _labels_of_ring(lab, drawn)
    _press(labels, inside, cv2.GC_FGD)
    _press(labels, outside, cv2.GC_BGD)
    own = filled(largest_part(cut(window.rgb, labels)), LEAST_HOLE_SHARE)
    if not own.any():
        raise Refused("assist.nothing_to_grow")
    likelier = likelier_inside(lab, own, ~drawn)
    for row, column in outside:
        likelier[row, column] = -np.inf

    def at(asked: float) -> np.ndarray:
        alike = (likelier > 16 * (OWN_AMOUNT - asked) + 8 * np.sign(asked - OWN_AMOUNT)) & drawn
        return filled(largest_part(_between(own, alike, asked)), LEAST_HOLE_SHARE)

    return _region(rgb, window, at, amount)


def _require_inside(rgb: np.ndarray, points: tuple[Pair, ...]) -> None:
    height, width = rgb.shape[:2]
    for x, y in points:
        if not (0 <= x <= width and 0 <= y <= height):
            raise Refused("assist.point_outside", x=f"{x:g}", y=f"{y:g}", width=width, height=height)


@dataclass(frozen=True, slots=True)
class _Boundary:
    score: float
    threshold: float
    grain_px: int
    window: Window
    whole: bool


def _nearest_boundary(windows: list[Window], clicks: tuple[Pair, ...], away: tuple[Pair, ...]) -> _Boundary:
    """Return the nearest boundary that the next wider window does not far surpass.

    The strongest boundary of a whole photo is that of the instrument; the one asked for is nearer.
    """
    best = _Boundary(0.0, 0.0, 0, windows[0], False)
    for window in windows:
        wider = _strongest_boundary(window, clicks, away)
        if best.whole and best.score > NEAR_ENOUGH * wider.score:
            return best
        best = wider
    return best


def _strongest_boundary(window: Window, clicks: tuple[Pair, ...], away: tuple[Pair, ...]) -> _Boundary:
    """Return the best boundary among all thresholds in one window, on the surface as it is and evened out."""
    inside, outside = window.pixels(clicks), window.pixels(away)
    lab = lab_of(window.rgb)
    best = _Boundary(0.0, 0.0, 0, window, False)
    for grain_px, thresholds in THRESHOLDS.items():
        distance = _distance(lab, inside, outside, grain_px)
        strength = boundary_strength(lab, grain_px)
        for threshold in thresholds:
            mask = component_at(distance <= threshold, inside)
            score = _boundary_score(mask, strength, threshold)
            if score > best.score:
                best = _Boundary(score, float(threshold), grain_px, window, border_share(mask) <= TOUCHING_SHARE)
    return best


def _distance(lab: np.ndarray, inside: list, outside: list, grain_px: int) -> np.ndarray:
    distance = colour_distance(lab, inside, grain_px)
    if outside:
        distance = np.where(colour_distance(lab, outside, grain_px) < distance, np.float32(np.inf), distance)
    return distance


def _boundary_score(mask: np.ndarray, strength: np.ndarray, threshold: float) -> float:
    """Return the mean gradient along the boundary over that of the surface beside it.

    It is less for wide thresholds and for running along the window's border.
    """
    area = int(mask.sum())
    if area < 30 or area > 0.95 * mask.size:
        return 0.0
    rim = rim_of(mask)
    if not rim.any():
        return 0.0
    sides = [_just_inside(mask), _just_inside(~mask)]
    beside = float(np.mean([strength[side].mean() if side.any() else 0.0 for side in sides]))
    own = float(strength[rim].mean()) / (beside + EVEN_STRENGTH)
    return own / (1 + 0.03 * threshold) * (1 - border_share(mask)) ** 2


def _just_inside(mask: np.ndarray) -> np.ndarray:
    depth = depth_inside(mask)
    return (depth > BESIDE_PX[0]) & (depth < BESIDE_PX[1])


def _settled(window: Window, mask: np.ndarray, inside: list, outside: list) -> np.ndarray:
    """Let a graph cut settle the edge within a band about the mask's rim."""
    band = max(2.0, BAND_SHARE * math.sqrt(mask.sum()))
    within, without = depth_inside(mask), depth_inside(~mask)
    labels = np.where(mask, cv2.GC_PR_FGD, cv2.GC_PR_BGD).astype(np.uint8)
    labels[within > band] = cv2.GC_FGD
    labels[without > band] = cv2.GC_BGD
    _press(labels, inside, cv2.GC_FGD)
    _press(labels, outside, cv2.GC_BGD)
    near = np.argwhere(without <= 3 * band + 4)
    (top, left), (bottom, right) = near.min(axis=0), near.max(axis=0) + 1
    part = slice(top, bottom), slice(left, right)
    result = np.zeros_like(mask)
    result[part] = cut(window.rgb[part], labels[part])
    result = component_at(result, inside)
    return result if 0.3 < result.sum() / max(1, mask.sum()) < 3 else mask


def _labels_of_ring(lab: np.ndarray, drawn: np.ndarray) -> np.ndarray:
    """Label a rough ring for the cut: sure deep inside where the colour is rarer outside, sure background outside.

    Colours as common outside as inside begin as background where the ring has enough of its own.
    """
    depth = depth_inside(drawn)
    deep = depth > CORE_DEPTH_SHARE * depth.max()
    likelier = likelier_inside(lab, drawn, ~drawn)
    core = deep & (likelier > SURELY_LIKELIER)
    labels = np.where(drawn, cv2.GC_PR_FGD, cv2.GC_BGD).astype(np.uint8)
    if core.sum() > LEAST_CORE_SHARE * deep.sum():
        labels[drawn & (likelier < HARDLY_LIKELIER)] = cv2.GC_PR_BGD
    else:
        core = deep
    labels[core] = cv2.GC_FGD
    return labels


def _press(labels: np.ndarray, pixels: list, value: int) -> None:
    for row, column in pixels:
        labels[max(0, row - 1) : row + 2, max(0, column - 1) : column + 2] = value


def _between(own: np.ndarray, alike: np.ndarray, asked: float) -> np.ndarray:
    """Return the photo's own region, made larger by what is alike above the middle and smaller by what is not below."""
    if asked == OWN_AMOUNT:
        return own
    return own | alike if asked > OWN_AMOUNT else own & alike


def _region(rgb: np.ndarray, window: Window, at: Callable[[float], np.ndarray], amount: float | None) -> GrownRegion:
    amount = OWN_AMOUNT if amount is None else float(amount)
    mask = at(amount)
    if mask.sum() < 4:
        raise Refused("assist.nothing_to_grow")
    areas = [float(at(asked).sum()) * window.scale**2 for asked in AMOUNTS]
    low, high = np.interp([max(0, amount - SOFTNESS_STEP), min(1, amount + SOFTNESS_STEP)], AMOUNTS, areas)
    ring = region_edge(rgb, window, mask)
    softness = float(high - low) / 2
    return GrownRegion(
        ring,
        amount,
        tuple((float(a), area) for a, area in zip(AMOUNTS, areas, strict=True)),
        area_of(ring),
        softness,
        max(LEAST_EDGE_SD_PX, softness / max(perimeter_of(ring), 1.0)),
    )

"""Corners of one size card from its four sides: a slightly bent line through each, and where they cross."""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np

from condition.imaging.card_code import MODULES
from condition.imaging.edges import Window, edge_offsets, window_of
from condition.imaging.sharpening import REACH_PX, STEP_PX, moved_by

FARTHEST = 0.1
"""How far, as a share of the side, a side may be detected from the true one: blurred squares are detected too small."""
BEND_SD = 5e-4
"""How much a side may be bent by lens or paper: sagitta over length, standard deviation."""
DOUBT = 0.3
"""Share of a correction for sharpening that stays uncertain: cameras' own curves differ from the model's."""
FLOOR_PX, FLOOR_SIDE = 0.05, 3e-4
"""What no line fit sees: the paper's curl and the print's edge, as pixels and as a share of the side."""


@dataclass(frozen=True, slots=True)
class Corners:
    corners_px: np.ndarray
    sd_px: float


def refined(rgb: np.ndarray, corners_px: np.ndarray) -> Corners | None:
    """Corners (4, 2) of a dark square on white to a few hundredths of a pixel, or None where a side cannot be seen.

    corners_px : as detected, within about two pixels, in order round the square
    """
    corners = np.asarray(corners_px, float)
    side = float(np.hypot(*(np.roll(corners, -1, axis=0) - corners).T).mean())
    module = side / MODULES
    window = window_of(rgb, corners, 1.3 * module + 4)
    corners = _nudged(window, corners, float(np.clip(FARTHEST * side, 2.0, 12.0)))
    for round_ in range(3):
        reach = float(np.clip(module * 0.36, 1.5, 9.0))
        lines = [
            side_line(window, corners[i], corners[(i + 1) % 4], reach, 2.0 if round_ == 0 else 0.7) for i in range(4)
        ]
        if any(line is None for line in lines):
            return None
        moved = np.array([crossing(lines[i - 1], lines[i]) for i in range(4)])
        if not np.isfinite(moved).all() or np.abs(moved - corners).max() > FARTHEST * side + 3.0:
            return None
        settled = np.abs(moved - corners).max() < 0.02
        corners = moved
        if settled:
            break
    moved = _sharpened_by(window, lines, reach)
    if moved:
        lines = [replace(line, coefficients=line.coefficients - [moved, 0, 0]) for line in lines]
        corners = np.array([crossing(lines[i - 1], lines[i]) for i in range(4)])
    sd = float(np.sqrt(np.mean([line.end_sd_px**2 for line in lines])))
    return Corners(corners, float(np.sqrt(sd**2 + FLOOR_PX**2 + (FLOOR_SIDE * side) ** 2 + (DOUBT * moved) ** 2)))


def _sharpened_by(window: Window, lines: list[Side], reach: float) -> float:
    """How far out the camera's sharpening makes the sides appear, from the mean profile across all four."""
    steps = int(4 * REACH_PX)
    offsets = np.arange(-steps, steps + 1) * STEP_PX
    profiles = []
    for line in lines:
        s = np.linspace(-0.8, 0.8, max(8, int(1.6 * line.half)))
        a, b, c = line.coefficients
        foot = line.middle + (s * line.half)[:, None] * line.along + (a + b * s + c * s * s)[:, None] * line.out
        profiles.append(window.sample(foot[:, None, :] + offsets[None, :, None] * line.out))
    stacked = np.vstack(profiles)
    beyond = np.abs(offsets) > 1.6 * reach
    mean = np.median(np.where(np.isfinite(stacked), stacked, np.nanmedian(stacked)), axis=0)
    mean[beyond & (offsets < 0)] = np.median(mean[(offsets < -reach) & ~beyond])
    mean[beyond & (offsets > 0)] = np.median(mean[(offsets > reach) & ~beyond])
    return moved_by(mean, reach)


@dataclass(frozen=True, slots=True)
class Side:
    """A point on a side is start + s along + offset(s) out, offset(s) = a + b s + c s^2 with s from -1 to 1."""

    middle: np.ndarray
    along: np.ndarray
    out: np.ndarray
    half: float
    coefficients: np.ndarray
    end_sd_px: float

    def offset(self, s: float) -> float:
        a, b, c = self.coefficients
        return float(a + b * s + c * s * s)


def side_line(
    window: Window, start: np.ndarray, end: np.ndarray, reach: float, search: float, keep_share: float = 0.06
) -> Side | None:
    """The line that fits a side, dark inside and bright outside, or None where it is not seen.

    start, end : the side's ends as known so far, px; reach : of the levels on both sides, px; search : how far the side
    may be off, px; keep_share : left out at both ends, as a share of the side
    """
    length = float(np.hypot(*(end - start)))
    along = (end - start) / length
    out = np.array([along[1], -along[0]])
    keep = max(keep_share * length, 2.5)
    count = int((length - 2 * keep) // 1.0)
    if count < 8:
        return None
    places = np.linspace(keep, length - keep, count)
    step = 0.5
    samples = 2 * int(np.ceil((1.6 * reach + search + 0.5) / step)) + 1
    offsets = (np.arange(samples) - samples // 2) * step
    points = start + places[:, None, None] * along + offsets[None, :, None] * out
    profiles = window.sample(points)
    if not np.isfinite(profiles).all(1).mean() > 0.6:
        return None
    found = edge_offsets(np.nan_to_num(profiles, nan=-9.0), step, reach, np.zeros(count))
    found = np.where(np.isfinite(profiles).all(1) & (np.abs(found) <= search + 1.0), found, np.nan)
    rise = np.nanmean(profiles[:, offsets > reach], 1) - np.nanmean(profiles[:, offsets < -reach], 1)
    good = np.isfinite(found) & (rise > 0.4 * np.nanmedian(rise)) & (rise > 0.01)
    if good.mean() < 0.4 or good.sum() < 8:
        return None
    s = (places[good] - length / 2) / (length / 2)
    return _fitted(s, found[good], length, start, along, out)


def _nudged(window: Window, corners: np.ndarray, search: float) -> np.ndarray:
    """Corners moved so that each side lies where the light rises most across it, within the search."""
    offsets = np.arange(-search - 1, search + 1.25, 0.5)
    middles, alongs = [], []
    for i in range(4):
        start, end = corners[i], corners[(i + 1) % 4]
        along = (end - start) / np.hypot(*(end - start))
        out = np.array([along[1], -along[0]])
        places = start + (end - start) * np.linspace(0.2, 0.8, 25)[:, None]
        mean = np.nan_to_num(window.sample(places[:, None] + offsets[:, None] * out)).mean(0)
        rise = np.gradient(np.convolve(mean, np.ones(3) / 3, "valid"))
        middles.append((start + end) / 2 + offsets[1 + int(np.argmax(rise))] * out)
        alongs.append(along)
    moved = []
    for i in range(4):
        matrix = np.column_stack([alongs[i - 1], -alongs[i]])
        if abs(np.linalg.det(matrix)) < 0.05:
            return corners
        moved.append(middles[i - 1] + np.linalg.solve(matrix, middles[i] - middles[i - 1])[0] * alongs[i - 1])
    return np.array(moved)


def _fitted(s, found, length, start, along, out) -> Side | None:
    basis = np.column_stack([np.ones_like(s), s, s * s])
    weights = np.ones_like(s)
    sd = 0.1
    for _ in range(8):
        bend = sd / (BEND_SD * length)
        rows = np.vstack([basis * weights[:, None], [0, 0, bend]])
        coefficients, *_ = np.linalg.lstsq(rows, np.append(found * weights, 0.0), rcond=None)
        left = found - basis @ coefficients
        sd = max(1.4826 * float(np.median(np.abs(left))), 0.004)
        weights = np.sqrt(np.clip(1 - (left / (4.7 * sd)) ** 2, 0, None)) if len(s) > 12 else weights
    if (weights > 0.2).mean() < 0.5 or sd > 1.0:
        return None
    covariance = np.linalg.inv(rows.T @ rows) * sd**2
    ends = np.array([[1.0, 1.0, 1.0], [1.0, -1.0, 1.0]])
    spread = np.einsum("ij,jk,ik->i", ends, covariance, ends)
    related = np.sqrt(_correlation_length(left * weights))
    return Side(
        start + along * length / 2, along, out, length / 2, coefficients, float(np.sqrt(spread.mean())) * related
    )


def _correlation_length(left: np.ndarray) -> float:
    """How many neighbouring stations share one error, from the autocorrelation of what the fit leaves."""
    power = float(left @ left)
    if power <= 0:
        return 1.0
    total = 1.0
    for lag in range(1, min(30, len(left) // 4)):
        share = float(left[lag:] @ left[:-lag]) / power
        if share < 0.1:
            break
        total += 2 * share
    return total


def crossing(first: Side, second: Side) -> np.ndarray:
    """Where the end of one side meets the start of the next, (2,) px; NaN where they are parallel."""
    s, t = 1.0, -1.0
    for _ in range(6):
        a = first.middle + s * first.half * first.along + first.offset(s) * first.out
        b = second.middle + t * second.half * second.along + second.offset(t) * second.out
        slope_a = first.half * first.along + (first.coefficients[1] + 2 * first.coefficients[2] * s) * first.out
        slope_b = second.half * second.along + (second.coefficients[1] + 2 * second.coefficients[2] * t) * second.out
        matrix = np.column_stack([slope_a, -slope_b])
        if abs(np.linalg.det(matrix)) < 1e-9:
            return np.array([np.nan, np.nan])
        ds, dt = np.linalg.solve(matrix, b - a)
        s, t = s + ds, t + dt
    return first.middle + s * first.half * first.along + first.offset(s) * first.out


def looks_printed(rgb: np.ndarray, corners_px: np.ndarray, bits: np.ndarray) -> bool:
    """Whether border, cells and white margin are as printed: what tells a card from a chance pattern in the wood.

    bits : (4, 4) of 0 (black) and 1 (white), upright to the corners
    """
    cells = np.ones((8, 8))
    cells[1:7, 1:7] = 0
    cells[2:6, 2:6] = bits
    unit = np.float32([[1, 1], [7, 1], [7, 7], [1, 7]])
    matrix = cv2.getPerspectiveTransform(unit, np.float32(corners_px))
    window = window_of(rgb, np.asarray(corners_px), float(np.ptp(corners_px, axis=0).max()) / 4)
    i, j = np.meshgrid(np.arange(8) + 0.5, np.arange(8) + 0.5)
    seen = window.sample(cv2.perspectiveTransform(np.float32([np.stack([i.ravel(), j.ravel()], 1)]), matrix)[0])
    expected, known = cells.ravel() > 0, np.isfinite(seen)
    if known[: expected.size].mean() < 0.8:
        return False
    white, black = np.median(seen[known & expected]), np.median(seen[known & ~expected])
    if white - black < 0.02 or black > 0.6 * white:
        return False
    wrong = (seen > (white + black) / 2) != expected
    return bool((wrong & known).sum() <= 3)

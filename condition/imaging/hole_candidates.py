"""Where a dark round spot may stand: every edge pixel votes for the centres that its slope points away from."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numba import njit

LARGEST_AT_ONE_LEVEL_PX = 14.0
"""Larger radii are looked for in pictures halved until they are smaller than this."""
RADIUS_STEP = 1.12
LEAST_STEP_PX = 0.6
VOTE_SPREAD = 0.10
"""Standard deviation of the smoothing of votes, over the radius."""
SURROUNDINGS = 1.73
"""Half the side of the square whose edges make up chance votes, over max(4 px, 1.5 radius)."""
LEAST_KEPT, ROOM_PX2 = 150, 600
STRIP_PX2 = 1_000_000
LEAST_VOTES = 3.0
"""A candidate's votes stand this many standard deviations of chance votes above nothing."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """x, y, radius in pixels of the array searched; strength in standard deviations of chance votes."""

    x: float
    y: float
    radius: float
    strength: float


@njit(cache=True, nogil=True)
def _cast(slope_x, slope_y, size, least, radius, votes):  # pragma: no cover
    rows, columns = size.shape
    for row in range(rows):
        for column in range(columns):
            strength = size[row, column]
            if strength < least:
                continue
            x = column - radius * slope_x[row, column] / strength
            y = row - radius * slope_y[row, column] / strength
            left, top = int(np.floor(x)), int(np.floor(y))
            if left < 0 or top < 0 or left >= columns - 1 or top >= rows - 1:
                continue
            right_share, lower_share = x - left, y - top
            votes[top, left] += strength * (1 - right_share) * (1 - lower_share)
            votes[top, left + 1] += strength * right_share * (1 - lower_share)
            votes[top + 1, left] += strength * (1 - right_share) * lower_share
            votes[top + 1, left + 1] += strength * right_share * lower_share


def radii_between(least_px: float, most_px: float) -> list[float]:
    """Return the radii to vote at, each 1.12 times the last and at least 0.6 px more."""
    radii = [least_px]
    while radii[-1] < most_px:
        radii.append(max(radii[-1] * RADIUS_STEP, radii[-1] + LEAST_STEP_PX))
    return radii


def round_spots(lightness: np.ndarray, least_px: float, most_px: float) -> list[Candidate]:
    """Return candidates for dark discs of radius ``least_px`` to ``most_px``, strongest first.

    Each level keeps at least 150, more the more room there is in it.

    Parameters
    ----------
    lightness : float32, shape (H, W); its negative for bright discs

    Source: circular Hough transform with gradient direction (Kimme, Ballard and Sklansky 1975), in octaves.
    """
    found: list[Candidate] = []
    level, part, low = 1, lightness, least_px
    while True:
        top = min(most_px / level, LARGEST_AT_ONE_LEVEL_PX)
        if top * level >= least_px:
            spots = _in_strips(part, max(1.2, low / level), top)
            found.extend(
                Candidate(spot.x * level, spot.y * level, spot.radius * level, spot.strength) for spot in spots
            )
        if LARGEST_AT_ONE_LEVEL_PX * level >= most_px or min(part.shape) < 16:
            return sorted(found, key=lambda spot: -spot.strength)
        low = max(least_px, 0.85 * LARGEST_AT_ONE_LEVEL_PX * level)
        level *= 2
        shape = (part.shape[1] // 2, part.shape[0] // 2)
        part = cv2.resize(part[: shape[1] * 2, : shape[0] * 2], shape, interpolation=cv2.INTER_AREA)


def _in_strips(lightness: np.ndarray, least_px: float, most_px: float) -> list[Candidate]:
    """Search a level strip by strip, each with room about it, so that a large box does not take memory without end."""
    rows = max(4 * int(most_px), STRIP_PX2 // lightness.shape[1])
    room = int(3 * most_px) + 8
    found = []
    for top in range(0, lightness.shape[0], rows):
        first = max(0, top - room)
        spots = _at_one_level(lightness[first : top + rows + room], least_px, most_px)
        moved = (Candidate(spot.x, spot.y + first, spot.radius, spot.strength) for spot in spots)
        found.extend(spot for spot in moved if top <= spot.y < top + rows)
    return found


def _at_one_level(lightness: np.ndarray, least_px: float, most_px: float) -> list[Candidate]:
    smooth = cv2.GaussianBlur(lightness, (0, 0), 0.8)
    slope_x = cv2.Sobel(smooth, cv2.CV_32F, 1, 0, ksize=3, scale=0.125)
    slope_y = cv2.Sobel(smooth, cv2.CV_32F, 0, 1, ksize=3, scale=0.125)
    size = np.hypot(slope_x, slope_y)
    least = float(np.percentile(size, 40)) + 1e-6
    radii = radii_between(least_px, most_px)
    margin = int(most_px * 1.2) + 2
    padded = [
        cv2.copyMakeBorder(array, *[margin] * 4, cv2.BORDER_CONSTANT, value=0) for array in (slope_x, slope_y, size)
    ]
    squares = np.where(padded[2] < least, np.float32(0), padded[2] ** 2)
    stack = np.empty((len(radii), *padded[2].shape), np.float32)
    for place, radius in enumerate(radii):
        votes = np.zeros_like(padded[2])
        _cast(*padded, least, radius, votes)
        sigma = max(0.7, VOTE_SPREAD * radius)
        votes = cv2.GaussianBlur(votes, (0, 0), sigma)
        around = 2 * int(SURROUNDINGS * max(4.0, 1.5 * radius)) + 1
        chance = cv2.blur(squares, (around, around)) * np.float32(1 / (4 * np.pi * sigma**2))
        even = cv2.blur(padded[2], (around, around))
        stack[place] = (votes - even) / np.sqrt((chance + 1e-9) * np.float32(1 + radius / 8))
    return _peaks(stack, radii, margin, max(LEAST_KEPT, lightness.size // ROOM_PX2))


def _peaks(stack: np.ndarray, radii: list[float], margin: int, limit: int) -> list[Candidate]:
    widest = np.stack([cv2.dilate(layer, np.ones((3, 3), np.uint8)) for layer in stack])
    around = widest.copy()
    around[1:] = np.maximum(around[1:], widest[:-1])
    around[:-1] = np.maximum(around[:-1], widest[1:])
    layers, rows, columns = np.nonzero((stack >= around) & (stack > LEAST_VOTES))
    strengths = stack[layers, rows, columns]
    order = np.argsort(-strengths)[: 8 * limit]
    x, y = columns[order] - margin + 0.5, rows[order] - margin + 0.5
    radius = np.array(radii)[layers[order]]
    kept: list[int] = []
    for place in range(len(order)):
        near = 0.35 * radius[place] + 1
        ratio = radius[place] / radius[kept]
        same = (np.abs(x[place] - x[kept]) < near) & (np.abs(y[place] - y[kept]) < near) & (ratio > 0.7) & (ratio < 1.4)
        if not same.any():
            kept.append(place)
            if len(kept) == limit:
                break
    return [Candidate(float(x[i]), float(y[i]), float(radius[i]), float(strengths[order[i]])) for i in kept]


def warm_up() -> None:
    """Compile, or load from numba's cache, what the first search would wait for."""
    round_spots(np.zeros((32, 32), np.float32), 2.0, 4.0)

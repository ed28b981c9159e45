"""The outline of a change and its colour difference, from the region where two photos depart from each other."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from condition.imaging.colour import ciede2000
from condition.imaging.difference import THRESHOLD, Difference
from condition.imaging.lightness import lab_of

HALF = 0.5
"""An edge that two equally sharp photos show equally blurred stands where the difference has half its height."""
LOCAL_PX, LEAST_LOCAL = 9, 0.35
"""Heights are those found this near, as a change over a pattern is not equally high all over, but no lower than this
share of the whole's."""
ROUND_PX = 6
BESIDE_PX = 16
"""What both photos show this near a change, outside it, is taken as unchanged: the rest of the light's difference."""
SEEN_BLUR_PX = 0.8


@dataclass(frozen=True, slots=True, eq=False)
class Change:
    """One place where the photos differ, in the intake photo's frame.

    ring_px : (N, 2) upright intake pixels; delta_e : CIEDE2000 of the medians inside; peak : in standard deviations
    window, mask : where it lies in the picture; colour, offset : (3,) L*, a*, b* inside and its median step
    """

    ring_px: np.ndarray
    delta_e: float
    peak: float
    window: tuple[slice, slice]
    mask: np.ndarray
    colour: np.ndarray
    offset: np.ndarray


def extent_of(mask: np.ndarray) -> tuple[float, float]:
    """Length of a region's box from corner to corner and the mean width that goes with it, px; mask bool (h, w)."""
    length = float(np.hypot(*np.ptp(np.argwhere(mask), axis=0)))
    return length, float(mask.sum()) / max(length, 1.0)


def lab_steps(difference: Difference, window: tuple[slice, slice], mask: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """L*a*b* of the intake photo in a window, and what the return photo has more of there than beside the mask.

    mask : bool (h, w) of the window

    Returns
    -------
    Two arrays, float32 (h, w, 3).
    """
    outer = widened(window, BESIDE_PX, difference.departure.shape)
    one, two = (lab_of(cv2.GaussianBlur(picture[outer], (0, 0), SEEN_BLUR_PX))
                for picture in (difference.before, difference.relit))  # fmt: skip
    step = two - one
    inner = placed_in(window, mask, outer)
    beside = cv2.dilate(inner.astype(np.uint8), np.ones((2 * BESIDE_PX + 1,) * 2, np.uint8)) > 0
    beside &= cv2.dilate(inner.astype(np.uint8), np.ones((7, 7), np.uint8)) == 0
    beside &= (difference.departure[outer] > 0) & (difference.departure[outer] < THRESHOLD)
    if beside.sum() > 30:
        step -= np.median(step[beside], axis=0)
    top, left = window[0].start - outer[0].start, window[1].start - outer[1].start
    here = (slice(top, top + mask.shape[0]), slice(left, left + mask.shape[1]))
    return one[here], step[here]


def widened(window: tuple[slice, slice], by: int, shape: tuple[int, ...]) -> tuple[slice, slice]:
    rows, columns = window
    return (
        slice(max(0, rows.start - by), min(shape[0], rows.stop + by)),
        slice(max(0, columns.start - by), min(shape[1], columns.stop + by)),
    )


def placed_in(window: tuple[slice, slice], mask: np.ndarray, larger: tuple[slice, slice]) -> np.ndarray:
    """A mask of a window as a mask of a larger window round it."""
    out = np.zeros((larger[0].stop - larger[0].start, larger[1].stop - larger[1].start), bool)
    top, left = window[0].start - larger[0].start, window[1].start - larger[1].start
    out[top : top + mask.shape[0], left : left + mask.shape[1]] = mask
    return out


def change_at(difference: Difference, peak: float, window: tuple[slice, slice], mask: np.ndarray) -> Change:
    """Outline a region where it has half its height, and say what colour it changed by."""
    larger = widened(window, ROUND_PX, difference.departure.shape)
    region = placed_in(window, mask, larger)
    before, offset = lab_steps(difference, larger, region)
    size = np.sqrt((offset**2).sum(2))
    strongest = region & (size >= np.quantile(size[region], 0.8))
    along = np.median(offset[strongest], axis=0)
    length = float(np.linalg.norm(along))
    shown = np.abs(offset @ (along / max(length, 1e-6)))
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * ROUND_PX + 1, 2 * ROUND_PX + 1))
    near = cv2.dilate(region.astype(np.uint8), kernel) > 0
    height = float(np.quantile(shown[strongest], 0.5))
    nearby = cv2.dilate(np.where(region, shown, 0).astype(np.float32), np.ones((LOCAL_PX, LOCAL_PX), np.uint8))
    inner = near & (shown > HALF * np.clip(nearby, LEAST_LOCAL * height, height))
    inner = _touching(inner, strongest)
    if inner.sum() < 4:
        inner = region
    ring = _ring(inner, larger)
    core = inner & strongest if (inner & strongest).any() else inner
    core = inner if inner.sum() < 30 else core
    one = np.median(before[core], axis=0)
    step = np.median(offset[core], axis=0)
    delta_e = float(ciede2000(one[None].astype(float), (one + step)[None].astype(float))[0])
    return Change(ring, delta_e, peak, larger, inner, one, step)


def _touching(mask: np.ndarray, seeds: np.ndarray) -> np.ndarray:
    """The parts of a mask that hold a seed, their pinholes filled."""
    filled = cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_CLOSE, np.ones((3, 3), np.uint8))
    _, labels = cv2.connectedComponents(filled, connectivity=8)
    wanted = np.unique(labels[seeds & (filled > 0)])
    return np.isin(labels, wanted[wanted > 0])


def _ring(mask: np.ndarray, window: tuple[slice, slice]) -> np.ndarray:
    """Outline of the largest part, along the outer borders of its pixels, smoothed to half a pixel."""
    soft = cv2.GaussianBlur(
        cv2.resize(np.pad(mask, 2).astype(np.float32), None, fx=4, fy=4, interpolation=cv2.INTER_NEAREST), (0, 0), 1.6
    )
    loops, _ = cv2.findContours((soft > 0.5).astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    loop = max(loops, key=cv2.contourArea).reshape(-1, 2) if loops else np.empty((0, 2))
    ring = cv2.approxPolyDP(loop.astype(np.float32).reshape(-1, 1, 2), 1.0, True).reshape(-1, 2)
    if len(ring) < 3:
        rows, columns = np.nonzero(mask)
        low, high = np.array([columns.min(), rows.min()]), np.array([columns.max(), rows.max()]) + 1
        ring = (np.array([(low[0], low[1]), (high[0], low[1]), (high[0], high[1]), (low[0], high[1])]) + 2) * 4 - 0.5
    return (ring + 0.5) / 4 - 2 + (window[1].start, window[0].start)

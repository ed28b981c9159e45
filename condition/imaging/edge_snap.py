"""Move a rough ring to where the colour is half way between its inside and its outside, to a fraction of a pixel."""

from __future__ import annotations

import cv2
import numpy as np

from condition.imaging.polyline import every

SPACING_PX = 1.5
SMOOTHING_PX = 3.0
"""Standard deviation along the ring of the smoothing of what was moved."""
SIDE_SHARE = 0.35
"""Inner and outer share of each profile whose mean is the colour of its side."""
LEAST_STEP = 0.012
"""Smallest difference of the two sides, in linear light, that is taken for an edge."""


def snapped(linear: np.ndarray, ring: np.ndarray, reach_px: float) -> np.ndarray:
    """Return the ring at its sub-pixel edge, about one vertex every 1.5 px.

    Parameters
    ----------
    linear : float32, shape (H, W, 3), linear light
    ring : float, shape (N, 2) of x, y in array pixels (corner origin), the first vertex not repeated, inside on the
        right hand when x is right and y is down (as :func:`condition.imaging.contours.zero_rings` gives it)
    reach_px : how far to either side the edge may lie

    The colour across the edge is read along its own axis: from the mean colour of the inner end of the profiles nearby
    to that of the outer end. Where the two hardly differ the ring stays.
    """
    ring = every(np.concatenate([ring, ring[:1]]), SPACING_PX)[:-1]
    if len(ring) < 8:
        return ring
    ahead = np.roll(ring, -1, axis=0) - np.roll(ring, 1, axis=0)
    ahead = smoothed_round(ahead, 2.0)
    ahead /= np.maximum(np.hypot(*ahead.T), 1e-9)[:, None]
    outward = np.stack([ahead[:, 1], -ahead[:, 0]], axis=1)
    samples = max(9, int(reach_px * 4) | 1)
    offsets = np.linspace(-reach_px, reach_px, samples)
    at = ring[:, None, :] + outward[:, None, :] * offsets[None, :, None]
    colours = colours_at(linear, at)
    side = max(2, int(SIDE_SHARE * samples))
    inner = smoothed_round(np.median(colours[:, :side], axis=1), 6.0)
    outer = smoothed_round(np.median(colours[:, -side:], axis=1), 6.0)
    axis = inner - outer
    step = np.linalg.norm(axis, axis=1)
    share = np.einsum("nsc,nc->ns", colours - outer[:, None], axis) / np.maximum(step, 1e-9)[:, None] ** 2
    move, sure = _half_way(share, offsets)
    weight = np.where(sure & (step > LEAST_STEP), 1.0, 0.02)
    for _ in range(3):
        smooth = smoothed_round(move * weight, SMOOTHING_PX / SPACING_PX) / smoothed_round(
            weight, SMOOTHING_PX / SPACING_PX
        )
        stray = np.abs(move - smooth) > max(1.0, 0.35 * reach_px)
        weight = np.where(stray, weight * 0.1, weight)
    smooth = np.where(smoothed_round(weight, 6.0) < 0.05, 0.0, smooth)
    return ring + outward * smooth[:, None]


def _half_way(share: np.ndarray, offsets: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """For each profile (inside 1, outside 0) the offset where it crosses a half, nearest the middle; and if so."""
    falls = (share[:, :-1] >= 0.5) & (share[:, 1:] < 0.5)
    drop = np.where(falls, share[:, :-1] - share[:, 1:], 1)
    at = offsets[:-1] + (offsets[1] - offsets[0]) * np.where(falls, (share[:, :-1] - 0.5) / drop, 0)
    distance = np.where(falls, np.abs(at), np.inf)
    best = np.argmin(distance, axis=1)
    rows = np.arange(len(share))
    found = np.isfinite(distance[rows, best])
    return np.where(found, at[rows, best], 0.0), found


def colours_at(picture: np.ndarray, at: np.ndarray) -> np.ndarray:
    """Return the colours, shape (N, S, 3), at places (N, S, 2) of x, y (corner origin); beyond the border its own."""
    parts = []
    rows = max(1, 30_000 // at.shape[1])
    for start in range(0, len(at), rows):
        where = (at[start : start + rows] - 0.5).astype(np.float32)
        parts.append(
            cv2.remap(
                picture,
                np.ascontiguousarray(where[..., 0]),
                np.ascontiguousarray(where[..., 1]),
                cv2.INTER_LINEAR,
                borderMode=cv2.BORDER_REPLICATE,
            )
        )
    return np.concatenate(parts)


def smoothed_round(values: np.ndarray, sigma: float) -> np.ndarray:
    """Return values, shape (N, ...), after a Gaussian along a closed ring of N places, ``sigma`` in places."""
    reach = min(len(values), int(4 * sigma) + 1)
    kernel = np.exp(-0.5 * (np.arange(-reach, reach + 1) / sigma) ** 2)
    kernel /= kernel.sum()
    columns = values.reshape(len(values), -1)
    padded = np.concatenate([columns[-reach:], columns, columns[:reach]])
    smooth = np.stack([np.convolve(column, kernel, mode="valid") for column in padded.T], axis=1)
    return smooth.reshape(values.shape)

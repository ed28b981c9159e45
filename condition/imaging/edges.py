"""Edges to a fraction of a pixel, in linear light: where a gamma-coded edge would be found on its dark side."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from condition.imaging.colour import LINEAR_OF_BYTE

_WEIGHTS = np.array([[0.2126, 0.7152, 0.0722]], np.float32)


def linear_light(rgb: np.ndarray) -> np.ndarray:
    """Relative luminance (H, W) float32, range 0..1, of upright sRGB uint8 (H, W, 3) (IEC 61966-2-1:1999)."""
    return cv2.transform(cv2.LUT(np.ascontiguousarray(rgb), LINEAR_OF_BYTE), _WEIGHTS)


_ROW = 1024
"""Points are handed to OpenCV in rows of so many: it takes no side of 32768 or more."""


@dataclass(frozen=True, slots=True)
class Window:
    """A piece of a photo in linear light: ``light`` (h, w) float32, its top-left pixel at (x0, y0)."""

    light: np.ndarray
    x0: int
    y0: int

    def sample(self, points_px: np.ndarray) -> np.ndarray:
        """Light at upright pixels (..., 2), bilinear; NaN outside the window."""
        at = np.asarray(points_px, np.float32) - np.float32([self.x0 + 0.5, self.y0 + 0.5])
        count = at.size // 2
        flat = np.resize(at.reshape(-1, 2), (-(-count // _ROW), _ROW, 2))
        taken = cv2.remap(self.light, flat, None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=-1.0)
        h, w = self.light.shape
        inside = (at >= 0).all(-1) & (at[..., 0] <= w - 1) & (at[..., 1] <= h - 1)
        return np.where(inside, taken.ravel()[:count].reshape(at.shape[:-1]), np.nan)


def window_of(rgb: np.ndarray, points_px: np.ndarray, margin_px: float) -> Window:
    """The part of a photo that holds all points (N, 2) and a margin round them."""
    height, width = rgb.shape[:2]
    low = np.clip(np.floor(np.min(points_px, axis=0) - margin_px), 0, (width - 1, height - 1)).astype(int)
    high = np.clip(np.ceil(np.max(points_px, axis=0) + margin_px) + 1, low + 1, (width, height)).astype(int)
    return Window(linear_light(rgb[low[1] : high[1], low[0] : high[0]]), int(low[0]), int(low[1]))


LEAST_STEP = 1e-5
"""Difference of light between two sides below which there is no edge."""
NARROW_PX = 0.75
"""Half length of the stretch over which light is averaged about the edge: enough to make where the pixels' borders fall
not matter, short enough that the overshoot of in-camera sharpening hardly enters."""


def edge_offsets(profiles: np.ndarray, step_px: float, reach_px: float, guess_px: np.ndarray) -> np.ndarray:
    """Where each profile passes half way from its first level to its last.

    The edge lies where the light averaged over a short stretch centred on it is the mean of the levels on its two
    sides: unbiased under any symmetric blur, and little moved by sharpening.

    Parameters
    ----------
    profiles : (N, M) light along each profile, the middle sample at offset 0
    reach_px : the levels are taken from there to 1.6 times as far on both sides of the edge
    guess_px : (N,) offsets to begin with

    Returns
    -------
    (N,) offsets in px from the middle sample; NaN where there is no edge.
    """
    count, samples = profiles.shape
    first = -(samples / 2) * step_px
    cumulative = np.concatenate([np.zeros((count, 1)), np.cumsum(profiles, 1) * step_px], 1)
    rows = np.arange(count)

    def summed(upto: np.ndarray) -> np.ndarray:
        place = (upto - first) / step_px
        cell = np.clip(np.floor(np.nan_to_num(place)).astype(int), 0, samples - 1)
        inside = cumulative[rows, cell] + (place - cell) * step_px * profiles[rows, cell]
        return np.where((place >= 0) & (place <= samples), inside, np.nan)

    edge = np.asarray(guess_px, float).copy()
    far, narrow = 1.6 * reach_px, min(NARROW_PX, reach_px)
    for _ in range(25):
        near_level = (summed(edge - reach_px) - summed(edge - far)) / (far - reach_px)
        far_level = (summed(edge + far) - summed(edge + reach_px)) / (far - reach_px)
        step = far_level - near_level
        step = np.where(np.abs(step) > LEAST_STEP, step, np.nan)
        with np.errstate(divide="ignore", invalid="ignore"):
            share = ((summed(edge + narrow) - summed(edge - narrow)) / (2 * narrow) - near_level) / step
            ahead = (summed(edge + 2 * narrow) - summed(edge)) / (2 * narrow)
            behind = (summed(edge) - summed(edge - 2 * narrow)) / (2 * narrow)
            slope = np.clip((ahead - behind) / (2 * narrow) / step, 0.08, None)
        moved = np.where(np.abs(share - 0.5) <= 1.5, np.clip((0.5 - share) / slope, -1.5, 1.5), np.nan)
        edge = edge + moved
        if np.nanmax(np.abs(moved), initial=0.0) < 1e-4:
            break
    return edge

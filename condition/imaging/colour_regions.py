"""Which pixels belong to a region of one colour: thresholds from a click, and cuts between two colour models."""

from __future__ import annotations

import cv2
import numpy as np

LIGHTNESS_WEIGHT = 1 / 1.4
"""Lightness counts less than hue and chroma, because light falls unevenly on a surface."""
CUT_ROUNDS = 3


def weighted_lab(lab: np.ndarray) -> np.ndarray:
    """Return Lab with lightness weighted, float32, shape (H, W, 3)."""
    return lab * np.array([LIGHTNESS_WEIGHT, 1, 1], np.float32)


def colour_distance(lab: np.ndarray, pixels: list[tuple[int, int]], grain_px: int = 0) -> np.ndarray:
    """Return the smoothed distance to the nearest of the clicked colours (medians of 5 x 5 px), float32 (H, W).

    ``grain_px`` is the standard deviation of a blur before that, which evens out figure and streaks of that size.
    """
    weighted = evened(weighted_lab(lab), grain_px)
    reach = max(2, grain_px)
    nearest = np.full(lab.shape[:2], np.inf, np.float32)
    for row, column in pixels:
        rows, columns = (slice(max(0, at - reach), at + reach + 1) for at in (row, column))
        patch = weighted[rows, columns].reshape(-1, 3)
        nearest = np.minimum(nearest, np.linalg.norm(weighted - np.median(patch, axis=0), axis=2))
    return cv2.GaussianBlur(nearest, (0, 0), 1.2)


def component_at(inside: np.ndarray, pixels: list[tuple[int, int]]) -> np.ndarray:
    """Return the connected parts of a mask that hold any of the pixels, their pinholes filled; bool (H, W)."""
    part = inside.astype(np.uint8)
    for row, column in pixels:
        if part[row, column] == 1:
            cv2.floodFill(part, None, (column, row), 2)
    return filled(part == 2, least_hole_share=0.01)


def filled(mask: np.ndarray, least_hole_share: float) -> np.ndarray:
    """Return the mask with every hole filled that is smaller than a share of the mask's area."""
    area = int(mask.sum())
    _, labels, stats, _ = cv2.connectedComponentsWithStats((~mask).astype(np.uint8), connectivity=8)
    small = stats[:, cv2.CC_STAT_AREA] < least_hole_share * area
    small[0] = False
    for side in (labels[0], labels[-1], labels[:, 0], labels[:, -1]):
        small[side] = False
    return mask | small[labels]


def largest_part(mask: np.ndarray) -> np.ndarray:
    """Return the largest connected part of a mask."""
    count, labels, stats, _ = cv2.connectedComponentsWithStats(mask.astype(np.uint8), connectivity=4)
    if count < 2:
        return np.zeros(mask.shape, bool)
    return labels == 1 + int(np.argmax(stats[1:, cv2.CC_STAT_AREA]))


def evened(values: np.ndarray, grain_px: int) -> np.ndarray:
    """Return values after a blur of that standard deviation; 0 leaves them as they are."""
    return cv2.GaussianBlur(values, (0, 0), grain_px) if grain_px else values


def boundary_strength(lab: np.ndarray, grain_px: int = 0) -> np.ndarray:
    """Return the size of the colour gradient, float32 (H, W), after a blur of ``grain_px``."""
    weighted = cv2.GaussianBlur(evened(weighted_lab(lab), grain_px), (0, 0), 1.2)
    across = cv2.Sobel(weighted, cv2.CV_32F, 1, 0, ksize=3, scale=0.25)
    down = cv2.Sobel(weighted, cv2.CV_32F, 0, 1, ksize=3, scale=0.25)
    return np.sqrt((across**2 + down**2).sum(axis=2))


def rim_of(mask: np.ndarray) -> np.ndarray:
    """Return the pixels of a mask that touch its outside, bool (H, W)."""
    return mask & ~cv2.erode(mask.astype(np.uint8), np.ones((3, 3), np.uint8), borderValue=1).astype(bool)


def border_share(mask: np.ndarray) -> float:
    """Return the share of a mask's outline that runs along the array's border."""
    border = sum(int(side.sum()) for side in (mask[0], mask[-1], mask[:, 0], mask[:, -1]))
    return border / max(1, border + int(rim_of(mask).sum()))


def cut(rgb: np.ndarray, labels: np.ndarray) -> np.ndarray:
    """Return foreground of a graph cut between two colour mixtures, bool (H, W).

    Parameters
    ----------
    labels : uint8, shape (H, W), of cv2.GC_BGD, GC_FGD, GC_PR_BGD, GC_PR_FGD

    Source: GrabCut (Rother, Kolmogorov and Blake 2004).
    """
    labels = labels.copy()
    sure = np.isin(labels, (cv2.GC_FGD, cv2.GC_PR_FGD)).sum(), np.isin(labels, (cv2.GC_BGD, cv2.GC_PR_BGD)).sum()
    if min(sure) < 10:
        return np.isin(labels, (cv2.GC_FGD, cv2.GC_PR_FGD))
    cv2.setRNGSeed(1)
    models = np.zeros((1, 65)), np.zeros((1, 65))
    cv2.grabCut(np.ascontiguousarray(rgb[..., ::-1]), labels, None, *models, CUT_ROUNDS, cv2.GC_INIT_WITH_MASK)
    return np.isin(labels, (cv2.GC_FGD, cv2.GC_PR_FGD))


def depth_inside(mask: np.ndarray) -> np.ndarray:
    """Return each pixel's distance to the outside of a mask, float32 (H, W), the array's border not counting."""
    return cv2.distanceTransform(mask.astype(np.uint8), cv2.DIST_L2, 5)


def likelier_inside(lab: np.ndarray, inside: np.ndarray, outside: np.ndarray) -> np.ndarray:
    """Return by how much (natural logarithm) each pixel's colour is likelier inside than outside, float32 (H, W)."""
    return cv2.GaussianBlur(log_density(lab, inside) - log_density(lab, outside), (0, 0), 1.5)


def log_density(lab: np.ndarray, where: np.ndarray) -> np.ndarray:
    """Return the log density of each pixel's colour among those of a mask, by a smoothed histogram."""
    low, high = np.array([0, -64, -64], np.float32), np.array([100, 64, 64], np.float32)
    place = np.clip((lab - low) / (high - low) * 16, 0, 15).astype(np.int32)
    flat = (place[..., 0] * 16 + place[..., 1]) * 16 + place[..., 2]
    counts = np.bincount(flat[where], minlength=16**3).reshape(16, 16, 16).astype(np.float32)
    for axis in range(3):
        moved = np.moveaxis(counts, axis, 0)
        padded = np.concatenate([moved[:1], moved, moved[-1:]])
        counts = np.moveaxis(0.25 * padded[:-2] + 0.5 * padded[1:-1] + 0.25 * padded[2:], 0, axis)
    density = (counts + 0.02) / (counts.sum() + 0.02 * 16**3)
    return np.log(density).ravel()[flat]

"""What hangs on to a body in a photo and is no part of its outline: a neck that leaves the photo, shadow beside it."""

from __future__ import annotations

import cv2
import numpy as np

from condition.imaging.lightness import linear_of

WIDEST_NECK_SHARE = 0.45
"""A stem wider than this, over the widest place of the whole, is the body itself cut off by the photo's border."""
SHORTEST_NECK_SHARE = 0.05
SHOULDER = 1.2
"""Where what the neck leads to is wider than the neck by this, the body begins."""
SHADOW_ANGLE = np.deg2rad(7.0)
LEAST_LIGHT, MOST_LIGHT = 0.02, 0.8
"""Light of a shadow over that of the bench."""
MOST_SHADOW_SHARE = 0.45


def without_neck(mask: np.ndarray) -> np.ndarray:
    """Return the mask without a neck that runs into it from a border of the photo, cut straight across at the shoulder.

    Parameters
    ----------
    mask : bool, shape (H, W), one thing
    """
    for turns in range(4):
        turned = np.rot90(mask, turns)
        spans = _stem_spans(turned)
        shoulder = _shoulder(spans, mask.shape[turns % 2])
        if shoulder:
            kept = turned.copy()
            for row, (left, right) in enumerate(spans[:shoulder]):
                kept[row, left:right] = False
            return np.rot90(kept, -turns)
    return mask


def _shoulder(spans: list[tuple[int, int]], rows: int) -> int:
    """Return the row where a stem from the top border has widened to a shoulder; 0 where there is none."""
    if not spans:
        return 0
    widths = np.array([right - left for left, right in spans], float)
    widest = int(np.argmax(widths))
    stem = widths[:widest]
    narrow = stem < WIDEST_NECK_SHARE * widths[widest]
    if not widest or not narrow[0]:
        return 0
    usual = float(np.percentile(stem[narrow], 25))
    last = int(np.flatnonzero(stem <= SHOULDER * usual)[-1])
    return last + 1 if last >= SHORTEST_NECK_SHARE * rows else 0


def _stem_spans(mask: np.ndarray) -> list[tuple[int, int]]:
    """Return for each row from the top (first column, end) of the run that goes on from the run above it."""
    spans: list[tuple[int, int]] = []
    for row in mask:
        edges = np.flatnonzero(np.diff(np.concatenate([[0], row.astype(np.int8), [0]])))
        runs = edges.reshape(-1, 2)
        if spans:
            runs = runs[(runs[:, 0] < spans[-1][1]) & (runs[:, 1] > spans[-1][0])]
        if not len(runs):
            break
        left, right = runs[int(np.argmax(runs[:, 1] - runs[:, 0]))]
        spans.append((int(left), int(right)))
    return spans


def shadow_beside(rgb: np.ndarray, mask: np.ndarray, bench: np.ndarray) -> np.ndarray:
    """Return the part of a mask that is bench in shadow, reached from outside; bool (H, W).

    Shadow has the bench's own hue in linear light, only darker.

    Parameters
    ----------
    rgb : uint8, shape (H, W, 3)
    mask : bool, shape (H, W), what is taken for the instrument
    bench : bool, shape (H, W), pixels that are bench for certain
    """
    nothing = np.zeros_like(mask)
    light = cv2.GaussianBlur(linear_of(rgb), (0, 0), 1.5)
    if not bench.any():
        return nothing
    usual = np.median(light[bench], axis=0)
    size = np.linalg.norm(light, axis=2)
    along = light @ (usual / np.linalg.norm(usual))
    relative = along / np.linalg.norm(usual)
    angle = np.arccos(np.clip(along / np.maximum(size, 1e-6), -1, 1))
    alike = (angle < SHADOW_ANGLE) & (relative > LEAST_LIGHT) & (relative < MOST_LIGHT) & mask
    _, labels = cv2.connectedComponents((alike | ~mask).astype(np.uint8), connectivity=4)
    from_outside = np.isin(labels, np.unique(labels[bench & ~mask])) & mask
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (5, 5))
    found = cv2.morphologyEx(from_outside.astype(np.uint8), cv2.MORPH_OPEN, kernel).astype(bool)
    return found if found.sum() < MOST_SHADOW_SHARE * mask.sum() else nothing

"""What ultraviolet makes of a photo, roughly: dark goes bright, patchy, blue-green, softer, with noise; and seen from
elsewhere by a known homography."""

from __future__ import annotations

import cv2
import numpy as np


def in_other_light(rgb: np.ndarray, seed: int = 3) -> np.ndarray:
    """Return uint8 (H, W, 3) in which no brightness of the photo is kept: what was light is dark, in other colours."""
    rng = np.random.default_rng(seed)
    part = rgb.astype(np.float32) / 255
    light = part.mean(2)
    height, width = light.shape
    patches = cv2.resize(rng.normal(size=(12, 9)).astype(np.float32), (width, height), interpolation=cv2.INTER_CUBIC)
    glow = np.clip(0.75 - 0.8 * part[..., 2] + 0.25 * patches, 0, 1)
    shone = np.stack([glow * 0.25 + 0.05 * light, glow * 0.55 + 0.08 * (1 - light), glow * 0.8], 2)
    shone = cv2.GaussianBlur(shone, (0, 0), max(0.6, width / 2000))
    shone += rng.normal(size=shone.shape).astype(np.float32) * 0.02
    return (np.clip(shone, 0, 1) * 255).astype(np.uint8)


def seen_through(rgb: np.ndarray, homography: np.ndarray) -> np.ndarray:
    """Return the photo moved by a homography of its pixels, which count from the corner."""
    centred = np.array([[1, 0, -0.5], [0, 1, -0.5], [0, 0, 1.0]])
    matrix = centred @ homography @ np.linalg.inv(centred)
    return cv2.warpPerspective(rgb, matrix, rgb.shape[1::-1], borderMode=cv2.BORDER_REFLECT)

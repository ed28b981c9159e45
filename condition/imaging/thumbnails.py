"""Small copies of a photo for lists."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np

LONG_SIDE_PX = 512
QUALITY = 85


def thumbnail(rgb: np.ndarray, long_side_px: int = LONG_SIDE_PX) -> np.ndarray:
    """Return a copy (h, w, 3) whose long side is at most ``long_side_px``; a smaller photo is not enlarged."""
    height, width = rgb.shape[:2]
    scale = long_side_px / max(height, width)
    if scale >= 1:
        return rgb.copy()
    size = (max(1, round(width * scale)), max(1, round(height * scale)))
    return cv2.resize(rgb, size, interpolation=cv2.INTER_AREA)


def write_jpeg(rgb: np.ndarray, path: Path, quality: int = QUALITY) -> None:
    """Write uint8 (H, W, 3) as a JPEG without any header facts.

    Raises
    ------
    OSError
        The disk would not take it.
    """
    _, coded = cv2.imencode(".jpg", cv2.cvtColor(rgb, cv2.COLOR_RGB2BGR), (cv2.IMWRITE_JPEG_QUALITY, quality))
    path.write_bytes(coded.tobytes())

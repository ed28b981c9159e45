"""A photo for the canvas's tests: painted wood with a crack, holes and a loss at known places; its tiles."""

from __future__ import annotations

import json
import math
from pathlib import Path

import cv2
import numpy as np

TILE_PX = 512
HOLES = (
    (0.62, 0.30, 14.0, True),
    (0.67, 0.30, 14.0, True),
    (0.62, 0.36, 14.0, True),
    (0.67, 0.36, 9.0, True),
    (0.645, 0.33, 2.5, False),
)
"""Centre as a share of width and height, radius in px, whether it is plain to see."""


def crack_px(width: int, height: int) -> list[tuple[float, float]]:
    """The painted crack's path, one vertex every few pixels."""
    n = 240
    return [
        (width * (0.2 + 0.35 * k / n), height * (0.55 + 0.03 * math.sin(k / 11) + 0.012 * math.sin(k / 3.1)))
        for k in range(n + 1)
    ]


def loss_px(width: int, height: int, grown: float = 1.0) -> list[tuple[float, float]]:
    """The outline of the painted loss, larger or smaller by a factor."""
    n = 72
    radii = [
        height * 0.09 * grown * (1 + 0.22 * math.sin(3 * a) + 0.1 * math.cos(7 * a))
        for a in np.arange(n) * 2 * math.pi / n
    ]
    return [
        (width * 0.35 + 1.3 * r * math.cos(2 * math.pi * k / n), height * 0.25 + r * math.sin(2 * math.pi * k / n))
        for k, r in enumerate(radii)
    ]


def paint_wood(width: int, height: int, seed: int = 5) -> np.ndarray:
    """Paint the photo: uint8, (height, width, 3), BGR."""
    rng = np.random.default_rng(seed)
    along = cv2.resize(
        rng.normal(size=(height // 3 + 1, width // 160 + 2)).astype(np.float32),
        (width, height),
        interpolation=cv2.INTER_CUBIC,
    )
    fine = cv2.resize(
        rng.normal(size=(height, width // 24 + 2)).astype(np.float32), (width, height), interpolation=cv2.INTER_LINEAR
    )
    tone = 0.72 + 0.05 * along + 0.03 * fine
    wood = np.stack([tone * 0.38, tone * 0.58, tone * 0.82], axis=-1)
    light = 1.08 - 0.25 * np.linspace(0, 1, width, dtype=np.float32)[None, :, None]
    picture = np.clip(wood * light * 255, 0, 255).astype(np.uint8)
    loss = np.array(loss_px(width, height)) * 16
    cv2.fillPoly(picture, [loss.astype(np.int32)], (168, 205, 226), cv2.LINE_AA, 4)
    crack = np.array(crack_px(width, height)) * 16
    cv2.polylines(picture, [crack.astype(np.int32)], False, (22, 30, 44), 3, cv2.LINE_AA, 4)
    for x, y, radius, _ in HOLES:
        cv2.circle(
            picture, (int(x * width * 16), int(y * height * 16)), int(radius * 16), (24, 28, 36), -1, cv2.LINE_AA, 4
        )
    return picture


def write_tiles(picture: np.ndarray, folder: Path) -> int:
    """Write ``{level}/{col}_{row}.jpg`` and ``meta.json``; return the number of levels. Level 0 is full size."""
    height, width = picture.shape[:2]
    level, now = 0, picture
    while True:
        (folder / str(level)).mkdir(parents=True, exist_ok=True)
        for row in range(0, now.shape[0], TILE_PX):
            for col in range(0, now.shape[1], TILE_PX):
                tile = now[row : row + TILE_PX, col : col + TILE_PX]
                cv2.imwrite(
                    str(folder / str(level) / f"{col // TILE_PX}_{row // TILE_PX}.jpg"),
                    tile,
                    [cv2.IMWRITE_JPEG_QUALITY, 88],
                )
        level += 1
        if max(now.shape[:2]) <= TILE_PX:
            break
        now = cv2.resize(now, (-(-now.shape[1] // 2), -(-now.shape[0] // 2)), interpolation=cv2.INTER_AREA)
    meta = {"width": width, "height": height, "tile": TILE_PX, "levels": level}
    (folder / "meta.json").write_text(json.dumps(meta))
    return level

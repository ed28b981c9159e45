"""A photo cut into tiles at halving sizes, so that a screen loads only what it shows."""

from __future__ import annotations

import json
import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np

from condition.imaging.thumbnails import thumbnail, write_jpeg

TILE_PX = 512
QUALITY = 90


def write_pyramid(rgb: np.ndarray, folder: Path) -> None:
    """Write the tiles of a photo, complete or not at all.

    ``folder`` gets ``meta.json`` (width, height, tile, levels), ``thumb.jpg`` and ``{level}/{col}_{row}.jpg``: level 0
    is full size, each next half of it (2 x 2 pixels averaged, so that one pixel of level n covers exactly 2**n), the
    last one tile. A folder that is already there stays as it is.

    Parameters
    ----------
    rgb : uint8, shape (H, W, 3), sRGB
    folder : made by this call; its parents too
    """
    with whole_folder(folder) as part:
        write_tiles(rgb, part)


def write_tiles(rgb: np.ndarray, folder: Path) -> None:
    """Write what :func:`write_pyramid` promises into a folder that is there."""
    height, width = rgb.shape[:2]
    write_jpeg(thumbnail(rgb), folder / "thumb.jpg")
    level, picture = 0, rgb
    while True:
        _write_level(picture, folder / str(level))
        level += 1
        if max(picture.shape[:2]) <= TILE_PX:
            break
        picture = halved(picture)
    meta = {"width": width, "height": height, "tile": TILE_PX, "levels": level}
    (folder / "meta.json").write_text(json.dumps(meta), encoding="utf-8")


def _write_level(picture: np.ndarray, folder: Path) -> None:
    folder.mkdir()
    for row, top in enumerate(range(0, picture.shape[0], TILE_PX)):
        for col, left in enumerate(range(0, picture.shape[1], TILE_PX)):
            tile = picture[top : top + TILE_PX, left : left + TILE_PX]
            write_jpeg(tile, folder / f"{col}_{row}.jpg", QUALITY)


def halved(picture: np.ndarray) -> np.ndarray:
    """Return the picture at half size, uint8 (ceil(H/2), ceil(W/2), 3); a last odd row or column counts twice."""
    height, width = picture.shape[:2]
    out = np.empty(((height + 1) // 2, (width + 1) // 2, picture.shape[2]), np.uint8)
    for top in range(0, height, 2 * TILE_PX):
        strip = picture[top : top + 2 * TILE_PX]
        rows, cols = strip.shape[0] % 2, width % 2
        if rows or cols:
            strip = np.pad(strip, ((0, rows), (0, cols), (0, 0)), mode="edge")
        wide = strip.astype(np.uint16)
        total = wide[0::2, 0::2] + wide[1::2, 0::2] + wide[0::2, 1::2] + wide[1::2, 1::2]
        out[top // 2 : top // 2 + total.shape[0]] = (total + 2) >> 2
    return out


@contextmanager
def whole_folder(folder: Path) -> Iterator[Path]:
    """Give a folder beside ``folder`` to fill, and put it in place when all went well: nobody sees half of it.

    When ``folder`` came into being meanwhile, that one stays.
    """
    folder.parent.mkdir(parents=True, exist_ok=True)
    part = Path(tempfile.mkdtemp(prefix=".part-", dir=folder.parent))
    try:
        yield part
        part.chmod(0o755)
        try:
            os.rename(part, folder)
        except OSError:
            if not folder.is_dir():
                raise
    finally:
        shutil.rmtree(part, ignore_errors=True)

"""Tiles and thumbnails of stored photos; what the cache has lost is made again from the original."""

from __future__ import annotations

from pathlib import Path

from condition.flow.desk import Desk
from condition.flow.inspection import picture_folder, prepare
from condition.flow.pool import shared
from condition.records.photo import Photo


def pictures_of(desk: Desk, photo: Photo) -> Path:
    """Return the folder of a photo's tiles and thumbnail."""
    folder = picture_folder(desk.cache, photo.sha256)
    if not folder.is_dir():
        original = desk.store.vault.path(photo.sha256)
        shared().submit(prepare, str(original), photo.file_name, str(desk.cache)).result()
    return folder


def tile_file(desk: Desk, photo_id: str, level: int, col: int, row: int) -> Path:
    """Return the file of one tile; level 0 is full size. It may not be there when the numbers are out of range."""
    return pictures_of(desk, desk.store.get(Photo, photo_id)) / str(level) / f"{col}_{row}.jpg"


def thumbnail_of(desk: Desk, photo: Photo) -> Path:
    return pictures_of(desk, photo) / "thumb.jpg"

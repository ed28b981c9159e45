"""What a worker does to place a photo on its face: two files in, one placing out."""

from __future__ import annotations

from pathlib import Path

from condition.records.photo import Photo
from condition.records.placing import Placing
from condition.records.shapes import Ring


def place_files(photo_path: str, base_path: str, photo: Photo, base: Photo, outline_px: Ring | None) -> Placing:
    """Place one stored photo on another; see :func:`condition.imaging.placing.place`."""
    from condition.imaging.decode import decode
    from condition.imaging.placing import place

    return place(
        decode(Path(photo_path).read_bytes(), name=photo.file_name).rgb,
        decode(Path(base_path).read_bytes(), name=base.file_name).rgb,
        photo.cards,
        base.cards,
        photo.plane,
        base.plane,
        outline_px,
        same_light=photo.light == base.light,
    )

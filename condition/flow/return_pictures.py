"""Little pictures of a change, before and after, in one frame; kept in the cache."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Literal

from condition.errors import Refused
from condition.flow.desk import Desk
from condition.flow.pixels import pixels_of
from condition.records.photo import Photo
from condition.records.return_check import ReturnChange, ReturnPair

Side = Literal["before", "after"]
SIDE_PX = 320
LEAST_PX = 90.0
AROUND = 2.4
"""Of a change's own size: how much of the photo its picture shows."""


def change_picture(desk: Desk, change_id: str, side: Side) -> Path:
    """Return the picture of one side of a change, made now if the cache has none.

    Raises
    ------
    Refused
        ``store.unknown``; ``return.not_compared``: its pair has not been compared.
    """
    change = desk.store.get(ReturnChange, change_id)
    pair = desk.store.get(ReturnPair, change.pair_id)
    if not pair.homography:
        raise Refused("return.not_compared")
    before = desk.store.get(Photo, pair.before_id)
    box = box_round(change, before)
    key = hashlib.sha256(repr((box, pair.homography, pair.tone, pair.after_id)).encode()).hexdigest()[:24]
    path = desk.cache / "return" / f"{key}-{side}.jpg"
    if not path.exists():
        from condition.imaging.laid_crop import laid_crop
        from condition.imaging.thumbnails import thumbnail, write_jpeg

        if side == "before":
            left, top, right, bottom = box
            picture = pixels_of(desk, before)[top:bottom, left:right]
        else:
            after = desk.store.get(Photo, pair.after_id)
            picture = laid_crop(pixels_of(desk, after), pair.homography, box, pair.tone)
        path.parent.mkdir(parents=True, exist_ok=True)
        part = path.with_suffix(f".{change_id}.part")
        write_jpeg(thumbnail(picture, SIDE_PX), part)
        part.replace(path)
    return path


def box_round(change: ReturnChange, photo: Photo) -> tuple[int, int, int, int]:
    """A square of the earlier photo (left, top, right, bottom) round a change, inside the photo."""
    xs, ys = zip(*change.ring_before_px.points, strict=True)
    half = max(LEAST_PX, AROUND * max(max(xs) - min(xs), max(ys) - min(ys))) / 2
    half = min(half, photo.width / 2, photo.height / 2)
    x = min(max((min(xs) + max(xs)) / 2, half), photo.width - half)
    y = min(max((min(ys) + max(ys)) / 2, half), photo.height - half)
    return int(x - half), int(y - half), int(x + half), int(y + half)

"""A finding cut out of its photo, for lists: kept in the cache, made again when its marks change."""

from __future__ import annotations

import hashlib
from pathlib import Path

from condition.flow.desk import Desk
from condition.flow.pixels import pixels_of
from condition.imaging.thumbnails import thumbnail, write_jpeg
from condition.records.finding import Finding
from condition.records.mark import Mark
from condition.records.photo import Photo
from condition.records.sheet import FindingEntry, MeasuredMark

ASPECT = 0.75
LONG_SIDE_PX = 420


def finding_picture(desk: Desk, finding: Finding) -> Path | None:
    """Return the file of a picture of the finding's surroundings, None when no photo shows it."""
    from condition.report.closeup import close_ups

    marks = desk.store.find(Mark, finding_id=finding.id)
    photos = desk.store.find(Photo, id=[mark.photo_id for mark in marks]) if marks else ()
    shown = close_ups(FindingEntry(finding, tuple(MeasuredMark(mark) for mark in marks)), photos, ASPECT, most=1)
    if not shown:
        return None
    photo, (left, top, right, bottom) = shown[0].photo, shown[0].box_px
    name = hashlib.sha256(f"{photo.sha256} {shown[0].box_px} {LONG_SIDE_PX}".encode()).hexdigest()
    path = desk.cache / "findings" / f"{name}.jpg"
    if not path.exists():
        path.parent.mkdir(parents=True, exist_ok=True)
        part = path.with_suffix(".part")
        write_jpeg(thumbnail(pixels_of(desk, photo)[top:bottom, left:right], LONG_SIDE_PX), part)
        part.replace(path)
    return path

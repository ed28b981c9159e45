"""What the photo says of the marks on it, made anew whenever their shape, their kind or the photo's scale changes."""

from __future__ import annotations

from dataclasses import replace

from condition.errors import Refused
from condition.flow.desk import Desk, new_id
from condition.flow.measuring import measure_mark
from condition.flow.pixels import pixels_of
from condition.records.finding import Finding
from condition.records.mark import Mark
from condition.records.photo import Photo

OUTLINE = "outline"
KNOWN_DISTANCE = "known distance"
BANK_CARD = "bank card"
ROLES = (OUTLINE, KNOWN_DISTANCE, BANK_CARD)
"""Marks that are no finding."""
SCALES = (KNOWN_DISTANCE, BANK_CARD)
"""Marks that give a photo without size cards its scale."""


def measured(desk: Desk, mark: Mark, photo: Photo, kind: str) -> Mark:
    """Return the mark with what the photo says of its shape, or with the reason why it says nothing."""
    if photo.plane is None or mark.role in SCALES:
        return replace(mark, measurements=(), not_measured="" if mark.role in SCALES else "measure.no_scale")
    pixels = pixels_of(desk, photo)
    try:
        found = measure_mark(kind, mark.shape_px, photo.plane, mark.how, mark.pick_sd_px, pixels, photo.id)
    except Refused as refusal:
        return replace(mark, measurements=(), not_measured=refusal.code)
    return replace(mark, measurements=found, not_measured="")


def measure_again(desk: Desk, photo_id: str) -> int:
    """Measure every mark of a photo anew, after its scale or a finding's kind has changed; return how many."""
    photo = desk.store.get(Photo, photo_id)
    kinds = {finding.id: finding.kind for finding in desk.store.find(Finding, job_id=photo.job_id)}
    marks = desk.store.find(Mark, photo_id=photo_id)
    again = [measured(desk, mark, photo, kinds.get(mark.finding_id, mark.role)) for mark in marks]
    changed = [mark for mark, before in zip(again, marks, strict=True) if mark != before]
    if changed:
        with desk.store.write(new_id(), desk.person) as work:
            for mark in changed:
                work.put(mark)
    return len(changed)

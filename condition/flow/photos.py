"""A photo's place in the job."""

from __future__ import annotations

from dataclasses import replace

from condition.errors import Refused
from condition.flow.desk import Desk, new_id
from condition.flow.placing import begin
from condition.records.finding import Finding
from condition.records.mark import Mark
from condition.records.photo import Photo
from condition.records.placing import PlacedByHand


def arrange(desk: Desk, photo: Photo, **fields: object) -> Photo:
    """Keep a photo's face, caption, light or occasion; findings marked on it alone follow it to its face.

    Raises
    ------
    Refused
        ``photos.bears_outline``: its outline is the one of the face it would leave.
    """
    edited = replace(photo, **fields)
    moved = edited.view_id != photo.view_id
    with desk.store.write(new_id(), desk.person) as work:
        if edited == work.get(Photo, photo.id):
            return photo
        if moved and work.find(Mark, photo_id=photo.id, role="outline"):
            raise Refused("photos.bears_outline", file=photo.file_name)
        kept = work.put(edited)
        if moved:
            for mark in work.find(Mark, photo_id=photo.id, role="finding"):
                finding = work.get(Finding, mark.finding_id)
                if finding.view_id == photo.view_id:
                    work.put(replace(finding, view_id=edited.view_id))
    if kept.view_id and (moved or kept.light != photo.light):
        begin(desk, kept.job_id)
    return kept


def remove_photo(desk: Desk, photo: Photo) -> None:
    """Take a photo out of the job; its bytes stay in the vault and the change log keeps what was known of it.

    Raises
    ------
    Refused
        ``photos.has_marks``
    """
    with desk.store.write(new_id(), desk.person) as work:
        if work.find(Mark, photo_id=photo.id):
            raise Refused("photos.has_marks", file=photo.file_name)
        for said in (*work.find(PlacedByHand, photo_id=photo.id), *work.find(PlacedByHand, base_photo_id=photo.id)):
            work.remove(said)
        work.remove(work.get(Photo, photo.id))

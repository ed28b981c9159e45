"""The condition sheet: everything known of a job, placed on its faces and ready for the report or a page."""

from __future__ import annotations

from condition.flow.desk import Desk, utc_now
from condition.flow.faces import FaceFrame, face_frame, place_shape
from condition.flow.findings import measurements_of
from condition.flow.jobs import job_named
from condition.flow.parts import parts_of
from condition.flow.marked import OUTLINE
from condition.flow.plan import plan_entries
from condition.records.finding import Finding
from condition.records.instrument import Instrument
from condition.records.job import Job
from condition.records.mark import Mark
from condition.records.part import Evidence
from condition.records.person import Person
from condition.records.photo import Photo
from condition.records.sheet import ConditionSheet, FindingEntry, MeasuredMark, ViewEntry
from condition.records.strip_down import Bag, StripDownStep
from condition.records.view import View


def condition_sheet(desk: Desk, job: Job) -> ConditionSheet:
    """Return the job with its findings in number order, each mark on its face where the photo is placed there."""
    photos = desk.store.find(Photo, job_id=job.id)
    marks = {photo.id: desk.store.find(Mark, photo_id=photo.id) for photo in photos}
    views = desk.store.find(View, job_id=job.id)
    frames: dict[str, FaceFrame] = {}
    entries = []
    for view in views:
        entry, frame = _view_entry(view, photos, marks)
        entries.append(entry)
        if frame is not None:
            frames[view.base_photo_id] = frame
    by_finding: dict[str, list[MeasuredMark]] = {}
    for photo in photos:
        frame = frames.get(photo.id)
        for mark in marks[photo.id]:
            if mark.finding_id:
                placed = place_shape(mark.shape_px, photo.plane, frame) if frame else None
                by_finding.setdefault(mark.finding_id, []).append(MeasuredMark(mark, placed))
    return ConditionSheet(
        job=job,
        instrument=desk.store.get(Instrument, job.instrument_id),
        client=desk.store.get(Person, job.client_id) if job.client_id else None,
        photos=photos,
        views=tuple(entries),
        findings=tuple(
            FindingEntry(finding, tuple(by_finding.get(finding.id, ())), measurements_of(desk, finding))
            for finding in desk.store.find(Finding, job_id=job.id)
        ),
        compiled_at=utc_now(),
        plan=plan_entries(desk, job),
        parts=parts_of(desk, job),
        evidence=desk.store.find(Evidence, job_id=job.id),
        bags=desk.store.find(Bag, job_id=job.id),
        strip_down=desk.store.find(StripDownStep, job_id=job.id),
    )


def _view_entry(
    view: View, photos: tuple[Photo, ...], marks: dict[str, tuple[Mark, ...]]
) -> tuple[ViewEntry, FaceFrame | None]:
    base = next((photo for photo in photos if photo.id == view.base_photo_id), None)
    outline = next((mark for mark in marks.get(view.base_photo_id, ()) if mark.role == OUTLINE), None)
    if base is None or outline is None or base.plane is None:
        return ViewEntry(view), None
    frame = face_frame(outline.shape_px, base.plane, view.neck_towards)
    area = next((m for m in outline.measurements if m.quantity == "area"), None)
    return ViewEntry(view, place_shape(outline.shape_px, base.plane, frame), area), frame


def job_sheet(desk: Desk, job_name: str) -> ConditionSheet:
    """Return the sheet of the job of that name (or id).

    Raises
    ------
    Refused
        ``job.unknown``
    """
    return condition_sheet(desk, job_named(desk, job_name))


def mapped_faces(sheet: ConditionSheet) -> tuple[ViewEntry, ...]:
    """Return the faces that have their outline, and so a map."""
    return tuple(entry for entry in sheet.views if entry.outline_mm is not None)


def face_map(sheet: ConditionSheet, face: ViewEntry, width_px: int) -> str:
    """Return a face's condition map as SVG."""
    from condition.report.map import map_svg

    return map_svg(face, sheet.findings, width_px)

"""The condition sheet: everything known of a job, placed on its faces and ready for the report or a page."""

from __future__ import annotations

from dataclasses import replace

from condition.flow.bench_sheet import bench_sheet
from condition.flow.desk import Desk, utc_now
from condition.flow.face_marks import faces_of, placed_findings
from condition.flow.gathered import gather
from condition.flow.jobs import job_named
from condition.flow.parts import parts_of
from condition.flow.places_in_words import proposed_place
from condition.flow.placing import complete
from condition.flow.plan import plan_entries
from condition.flow.return_sheets import return_entries
from condition.records.instrument import Instrument
from condition.records.job import Job
from condition.records.part import Evidence
from condition.records.person import Person
from condition.records.sheet import ConditionSheet, FindingEntry, ViewEntry
from condition.records.strip_down import Bag, StripDownStep


def condition_sheet(desk: Desk, job: Job) -> ConditionSheet:
    """Return the job with its findings in number order, each mark on its face where the photo is placed there.

    A finding whose place nobody wrote has the place its marks tell.
    """
    known = gather(desk, job.id)
    instrument = desk.store.get(Instrument, job.instrument_id)
    faces = faces_of(desk, known)
    return ConditionSheet(
        job=job,
        instrument=instrument,
        client=desk.store.get(Person, job.client_id) if job.client_id else None,
        photos=tuple(known.photos.values()),
        views=tuple(face.entry for face in faces),
        findings=tuple(
            FindingEntry(
                finding
                if finding.place
                else replace(finding, place=proposed_place(finding, placed, faces, instrument)),
                placed,
                known.measurements_of(finding),
            )
            for finding, placed in placed_findings(known, faces)
        ),
        compiled_at=utc_now(),
        plan=plan_entries(desk, job),
        parts=parts_of(desk, job),
        evidence=desk.store.find(Evidence, job_id=job.id),
        bags=desk.store.find(Bag, job_id=job.id),
        strip_down=desk.store.find(StripDownStep, job_id=job.id),
        returns=return_entries(desk, job),
        bench=bench_sheet(desk, job),
    )


def whole_sheet(desk: Desk, job: Job) -> ConditionSheet:
    """As :func:`condition_sheet`, once every photo has found its place on its face: for a paper given out."""
    complete(desk, job.id)
    return condition_sheet(desk, job)


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

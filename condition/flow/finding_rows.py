"""The findings of a job as a list shows them, asked for in a few queries however many they are."""

from __future__ import annotations

from dataclasses import dataclass

from condition.flow.desk import Desk
from condition.flow.face_marks import Face, faces_of, placed_findings
from condition.flow.gathered import gather
from condition.flow.places_in_words import proposed_place
from condition.records.finding import Finding
from condition.records.instrument import Instrument
from condition.records.job import Job
from condition.records.measurement import Measurement
from condition.records.sheet import MeasuredMark


@dataclass(frozen=True, slots=True)
class FindingRow:
    """One finding at a glance.

    proposed : its place as its marks tell it, when nobody wrote one
    measured : its measurements, the one that counts first
    photo_ids : the photos it is marked on, the base photo of its face first
    """

    finding: Finding
    proposed: str
    measured: tuple[Measurement, ...]
    photo_ids: tuple[str, ...]
    marks: tuple[MeasuredMark, ...] = ()

    @property
    def shown(self) -> bool:
        """Whether a photo shows it."""
        return bool(self.photo_ids)

    @property
    def place(self) -> str:
        return self.finding.place or self.proposed


def finding_rows(desk: Desk, job: Job) -> tuple[FindingRow, ...]:
    """Return the job's findings in number order."""
    return rows_and_faces(desk, job)[0]


def rows_and_faces(desk: Desk, job: Job) -> tuple[tuple[FindingRow, ...], tuple[Face, ...]]:
    """Return the job's findings in number order, and its faces with the ways onto them."""
    known = gather(desk, job.id)
    faces = faces_of(desk, known)
    instrument = desk.store.one(Instrument, id=job.instrument_id)
    rows = []
    for finding, placed in placed_findings(known, faces):
        rows.append(
            FindingRow(
                finding,
                "" if finding.place else proposed_place(finding, placed, faces, instrument),
                known.measurements_of(finding),
                tuple(dict.fromkeys(marked.mark.photo_id for marked in placed)),
                placed,
            )
        )
    return tuple(rows), faces

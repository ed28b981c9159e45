"""Everything a list of findings needs, asked of the store in one query a kind of record."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field

from condition.flow.desk import Desk
from condition.flow.marked import OUTLINE
from condition.measure.budget import ratio_of
from condition.measure.combine import combine
from condition.measure.tally import tally
from condition.records.finding import Finding
from condition.records.mark import Mark
from condition.records.measurement import Measurement
from condition.records.photo import Photo
from condition.records.return_check import OCCASIONS
from condition.records.view import View


@dataclass(frozen=True, slots=True)
class Gathered:
    """A job's findings in number order, its photos and faces, and all marks by finding and by photo."""

    findings: tuple[Finding, ...]
    photos: dict[str, Photo]
    views: dict[str, View]
    by_finding: dict[str, tuple[Mark, ...]] = field(default_factory=dict)
    by_photo: dict[str, tuple[Mark, ...]] = field(default_factory=dict)

    def marks_of(self, finding: Finding) -> tuple[Mark, ...]:
        return self.by_finding.get(finding.id, ())

    def first_marks(self, finding: Finding) -> tuple[Mark, ...]:
        """Return the marks that say what the finding is: those on photos of the first handover that shows it. Later
        ones say what became of it (:mod:`condition.flow.return_verdicts`)."""
        marks = self.marks_of(finding)
        ranks = {mark.id: self._handover(mark.photo_id) for mark in marks}
        return tuple(mark for mark in marks if ranks[mark.id] == min(ranks.values()))

    def _handover(self, photo_id: str) -> int:
        photo = self.photos.get(photo_id)
        return OCCASIONS.index(photo.occasion) if photo and photo.occasion in OCCASIONS else 0

    def outline_on(self, photo_id: str | None) -> Mark | None:
        """Return the outline drawn on a photo, if there is one."""
        return next((mark for mark in self.by_photo.get(photo_id or "", ()) if mark.role == OUTLINE), None)

    def measurements_of(self, finding: Finding) -> tuple[Measurement, ...]:
        """Return a finding's measurements, the one that counts first; see
        :func:`condition.flow.findings.measurements_of`."""
        seen = self._seen(finding)
        return (*finding.typed, *seen) if finding.typed_overrules else (*seen, *finding.typed)

    def _seen(self, finding: Finding) -> tuple[Measurement, ...]:
        by_photo: dict[str, list[tuple[Measurement, ...]]] = {}
        for mark in self.first_marks(finding):
            if mark.measurements:
                by_photo.setdefault(mark.photo_id, []).append(mark.measurements)
        if not by_photo:
            return ()
        tallies = {photo_id: tally(measurements) for photo_id, measurements in by_photo.items()}
        return (*combine(tuple(tallies.values())), *self._share(finding, tallies))

    def _share(self, finding: Finding, tallies: dict[str, tuple[Measurement, ...]]) -> tuple[Measurement, ...]:
        """The area as a share of its face: by the outline on the same photo, else by the face's base photo's."""
        view = self.views.get(finding.view_id or "")
        for photo_id, measurements in tallies.items():
            area = next((m for m in measurements if m.quantity == "area"), None)
            if area is None:
                continue
            for outlined in dict.fromkeys((photo_id, view.base_photo_id if view else None)):
                face = self.outline_on(outlined)
                whole = next((m for m in face.measurements if m.quantity == "area"), None) if face else None
                if whole is not None:
                    return (ratio_of(area, whole),)
        return ()


def gather(desk: Desk, job_id: str) -> Gathered:
    """Return what the store knows of a job's findings, in four queries."""
    photos = desk.store.find(Photo, job_id=job_id)
    marks = desk.store.find(Mark, photo_id=[photo.id for photo in photos]) if photos else ()
    by_finding: dict[str, list[Mark]] = defaultdict(list)
    by_photo: dict[str, list[Mark]] = defaultdict(list)
    for mark in marks:
        by_photo[mark.photo_id].append(mark)
        if mark.finding_id:
            by_finding[mark.finding_id].append(mark)
    return Gathered(
        desk.store.find(Finding, job_id=job_id),
        {photo.id: photo for photo in photos},
        {view.id: view for view in desk.store.find(View, job_id=job_id)},
        {key: tuple(found) for key, found in by_finding.items()},
        {key: tuple(found) for key, found in by_photo.items()},
    )


def gather_one(desk: Desk, finding: Finding) -> Gathered:
    """Return what the store knows of one finding: its marks, its face, and the outlines its share is taken of."""
    marks = desk.store.find(Mark, finding_id=finding.id)
    view = desk.store.one(View, id=finding.view_id) if finding.view_id else None
    outlined = {mark.photo_id for mark in marks} | ({view.base_photo_id} if view and view.base_photo_id else set())
    outlines = desk.store.find(Mark, photo_id=outlined, role=OUTLINE) if outlined else ()
    by_photo: dict[str, tuple[Mark, ...]] = {}
    for mark in (*marks, *outlines):
        by_photo[mark.photo_id] = (*by_photo.get(mark.photo_id, ()), mark)
    ids = {mark.photo_id for mark in marks}
    photos = desk.store.find(Photo, id=ids) if ids else ()
    return Gathered(
        (finding,),
        {photo.id: photo for photo in photos},
        {view.id: view} if view else {},
        {finding.id: marks},
        by_photo,
    )

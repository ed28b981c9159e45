"""Findings: opened, worded, decided, and what they measure."""

from __future__ import annotations

from dataclasses import replace

from condition.flow.desk import Desk, new_id
from condition.flow.gathered import gather_one
from condition.flow.marked import measure_again
from condition.records.finding import Finding
from condition.records.job import Job
from condition.records.legend import kind_of
from condition.records.mark import Mark
from condition.records.measurement import Measurement


def new_finding(desk: Desk, job: Job, kind: str, **fields: object) -> Finding:
    """Open a finding that has no mark yet: words or a typed measurement only."""
    known, own = kind_of(kind)
    with desk.store.write(new_id(), desk.person) as work:
        number = work.next_number(work.get(Job, job.id))
        return work.put(Finding(new_id(), job.id, number, known, own_kind=own, **fields))


def edit_finding(desk: Desk, finding: Finding) -> Finding:
    """Keep a finding as edited; its marks are measured anew when its kind has changed.

    Raises
    ------
    Stale
        It was changed elsewhere meanwhile.
    """
    with desk.store.write(new_id(), desk.person) as work:
        before = work.get(Finding, finding.id)
        if before == finding:
            return finding
        kept = work.put(finding)
    if before.kind != kept.kind:
        for photo_id in {mark.photo_id for mark in desk.store.find(Mark, finding_id=kept.id)}:
            measure_again(desk, photo_id)
    return kept


def remove_finding(desk: Desk, finding: Finding) -> None:
    """Take a finding and its marks out of the job; the number is not used again, and
    :func:`condition.flow.finding_edits.put_back` brings all of it back."""
    with desk.store.write(new_id(), desk.person) as work:
        marks = work.find(Mark, finding_id=finding.id)
        for mark in marks:
            work.remove(mark)
        work.remove(finding)
        work.answer({"marks": [mark.id for mark in marks]})


def type_measurement(desk: Desk, finding: Finding, measurement: Measurement, *, overrules: bool) -> Finding:
    """Put what the calliper, rule or gauge said beside what the photo says, or before it."""
    others = tuple(typed for typed in finding.typed if typed.quantity != measurement.quantity)
    return edit_finding(desk, replace(finding, typed=(*others, measurement), typed_overrules=overrules))


def drop_typed(desk: Desk, finding: Finding, measurement: Measurement) -> Finding:
    return edit_finding(desk, replace(finding, typed=tuple(m for m in finding.typed if m != measurement)))


def measurements_of(desk: Desk, finding: Finding) -> tuple[Measurement, ...]:
    """Return a finding's measurements, the one that counts first.

    Several marks on one photo are counted or added up (:func:`condition.measure.tally.tally`), what several photos say
    of the same thing is combined, an area is also given as a share of its face's outline, and what was typed in stands
    beside it or before it. For many findings at once: :func:`condition.flow.gathered.gather`.
    """
    return gather_one(desk, finding).measurements_of(finding)

"""What was read and tried at the handover that a check is about, beside what was at the intake."""

from __future__ import annotations

from dataclasses import replace

from condition.flow.before_after import pairs
from condition.flow.bench_sheet import bench_sheet
from condition.flow.coil import ADVICE, sentences
from condition.flow.desk import Desk
from condition.flow.function_test import listed
from condition.flow.readings import readings_of
from condition.flow.strings import pull_of, string_length
from condition.records.bench_sheet import BenchSheet, ReadingPair, StringsEntry, Told, TriedPair
from condition.records.job import Job
from condition.records.reading import Reading, StringSet
from condition.records.return_check import ReturnCheck


def bench_at(desk: Desk, job: Job, check: ReturnCheck) -> BenchSheet:
    """Return the bench's sheet with the check's own later handover beside the intake.

    Nothing is read when an instrument goes out: then the intake stands alone.
    """
    sheet, later = bench_sheet(desk, job), check.later
    if later == sheet.later:
        return sheet
    readings, sets = readings_of(desk, job), desk.store.find(StringSet, job_id=job.id)
    found = pairs(readings, sets, later="returned" if later == "out" else later)
    if later == "out":
        found = tuple(replace(one, after=None, difference=None, verdict="only before") for one in found if one.before)
    tests = listed(desk, job)
    before = {(one.group, one.item): one for one in tests if one.occasion == "intake"}
    after = {(one.group, one.item): one for one in tests if one.occasion == later}
    anything = any(one.after for one in found) or any(one.result != "not tried" for one in after.values())
    return replace(
        sheet,
        later=later if later != "out" and anything else None,
        readings=tuple(map(_worded, found)),
        strings=tuple(_strings(desk, job, one) for one in sets if one.occasion in ("intake", later)),
        tests=tuple(TriedPair(*key, before.get(key), after.get(key)) for key in dict.fromkeys((*before, *after))),
    )


def _worded(pair: ReadingPair) -> ReadingPair:
    if pair.what != "coil":
        return pair
    return replace(pair, told_before=_said(pair.before), told_after=_said(pair.after))


def _said(reading: Reading | None) -> tuple[Told, ...]:
    return tuple(line for line in sentences(reading) if line[0] not in ADVICE) if reading else ()


def _strings(desk: Desk, job: Job, strings: StringSet) -> StringsEntry:
    pull = pull_of(strings, string_length(desk, job, strings.occasion))
    return StringsEntry(strings, pull.total, pull.left_out, pull.estimated)

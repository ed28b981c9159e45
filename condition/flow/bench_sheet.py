"""The bench's own sheet: readings, function test, faults and stamps, before and after side by side."""

from __future__ import annotations

from dataclasses import replace

from condition.flow.before_after import pairs
from condition.flow.board_fit import board_of
from condition.flow.codes import decoded, stamps_of
from condition.flow.coil import ADVICE, sentences
from condition.flow.desk import Desk
from condition.flow.faults import faults_of, sounds_of
from condition.flow.function_test import listed
from condition.flow.readings import readings_of
from condition.flow.strings import pull_of, string_length
from condition.records.bench_sheet import (
    BenchSheet,
    BoardEntry,
    FaultEntry,
    ReadingPair,
    StampEntry,
    StringsEntry,
    TriedPair,
)
from condition.records.finding import Finding
from condition.records.function_test import FunctionTest
from condition.records.instrument import Instrument
from condition.records.job import Job
from condition.records.photo import Occasion as PhotoOccasion
from condition.records.reading import Occasion, Reading, StringSet


def bench_sheet(desk: Desk, job: Job, at: PhotoOccasion | None = None) -> BenchSheet:
    """Return what was learned at the bench besides the marks.

    at : the handover to set beside the intake, also one at which nothing is read; None for the latest with readings
    """
    readings, tests = readings_of(desk, job), listed(desk, job)
    seen = _with_anything(readings, tests)
    later = at or ("returned" if "returned" in seen else "back" if "back" in seen else None)
    sets = desk.store.find(StringSet, job_id=job.id)
    return BenchSheet(
        later if later in seen else None,
        tuple(_worded(pair) for pair in pairs(readings, sets, later=later or "returned")),
        tuple(_strings(desk, job, one) for one in sets if one.occasion in ("intake", later)),
        _board(desk, job),
        _tests(tests, later),
        _faults(desk, job),
        _stamps(desk, job),
    )


def _with_anything(readings: tuple[Reading, ...], tests: tuple[FunctionTest, ...]) -> set[Occasion]:
    """The occasions at which something was read or tried."""
    return {one.occasion for one in readings} | {one.occasion for one in tests if one.result != "not tried"}


def _worded(pair: ReadingPair) -> ReadingPair:
    if pair.what != "coil":
        return pair
    told = [
        tuple(line for line in sentences(one) if line[0] not in ADVICE) if one else ()
        for one in (pair.before, pair.after)
    ]
    return replace(pair, told_before=told[0], told_after=told[1])


def _strings(desk: Desk, job: Job, strings: StringSet) -> StringsEntry:
    pull = pull_of(strings, string_length(desk, job, strings.occasion))
    return StringsEntry(strings, pull.total, pull.left_out, pull.estimated)


def _board(desk: Desk, job: Job) -> BoardEntry | None:
    board = board_of(desk, job, "intake")
    if board is None:
        return None
    best = board.fits[0]
    return BoardEntry(
        best.rule,
        best.length_mm,
        board.expanded_mm[0],
        best.spread_mm,
        len(best.frets),
        board.told_apart,
    )


def _tests(tests: tuple[FunctionTest, ...], later: PhotoOccasion | None) -> tuple[TriedPair, ...]:
    before = {(t.group, t.item): t for t in tests if t.occasion == "intake"}
    after = {(t.group, t.item): t for t in tests if t.occasion == later}
    return tuple(TriedPair(*key, before.get(key), after.get(key)) for key in dict.fromkeys((*before, *after)))


def _faults(desk: Desk, job: Job) -> tuple[FaultEntry, ...]:
    numbers = {finding.id: finding.number for finding in desk.store.find(Finding, job_id=job.id)}
    return tuple(
        FaultEntry(fault, numbers.get(fault.finding_id or ""), sounds_of(desk, job, fault))
        for fault in faults_of(desk, job)
    )


def _stamps(desk: Desk, job: Job) -> tuple[StampEntry, ...]:
    claimed = desk.store.get(Instrument, job.instrument_id).claimed_year
    entries = []
    for stamp in stamps_of(desk, job):
        found = decoded(stamp, claimed)
        entries.append(StampEntry(stamp, found.headline, found.besides, found.claims) if found else StampEntry(stamp))
    return tuple(entries)

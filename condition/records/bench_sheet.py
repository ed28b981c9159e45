"""What was learned at the bench besides the marks, set side by side and ready for a page or the report."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from condition.records.attachment import Attachment
from condition.records.fault import Fault
from condition.records.function_test import FunctionTest, Group
from condition.records.measurement import Measurement
from condition.records.reading import Occasion, Reading, StringSet, What
from condition.records.stamp import Stamp

Told = tuple[str, tuple[tuple[str, str], ...]]
"""A catalogue code and its values."""

Verdict = Literal["changed", "within", "unlike", "state", "only before", "only after", "condition", "open"]


@dataclass(frozen=True, slots=True)
class ReadingPair:
    """One thing read before and after.

    difference : after minus before with its ±, where both are values of one kind
    verdict : changed; within (not beyond the ±); unlike (differs, but the conditions differ too); state (what the
        meter did differs); open (cannot be compared); condition (humidity and temperature themselves)
    unlike : how the conditions differ
    told_before, told_after : what is to be said beside a coil's reading
    """

    what: What
    place: str
    string: int | None
    fret: int | None
    before: Reading | None
    after: Reading | None
    difference: Measurement | None = None
    verdict: Verdict = "open"
    unlike: tuple[Told, ...] = ()
    told_before: tuple[Told, ...] = ()
    told_after: tuple[Told, ...] = ()


@dataclass(frozen=True, slots=True)
class StringsEntry:
    """The strings on one occasion and their pull at pitch; ``left_out`` names courses that could not be reckoned."""

    strings: StringSet
    pull: Measurement | None = None
    left_out: tuple[int, ...] = ()
    estimated: bool = False


@dataclass(frozen=True, slots=True)
class BoardEntry:
    """The board by the rule that fits its frets best; ``told_apart`` when the other rule fits clearly worse."""

    rule: Literal["exact", "17.817", "18"]
    length_mm: float
    length_expanded_mm: float
    spread_mm: float
    fret_count: int
    told_apart: bool


@dataclass(frozen=True, slots=True)
class TriedPair:
    """One thing tried before and after."""

    group: Group
    item: str
    before: FunctionTest | None
    after: FunctionTest | None


@dataclass(frozen=True, slots=True)
class FaultEntry:
    """A fault with the number of the finding it stands for, and its sounds."""

    fault: Fault
    number: int | None = None
    sounds: tuple[Attachment, ...] = ()


@dataclass(frozen=True, slots=True)
class StampEntry:
    """A stamp with what it decodes to; ``claims`` : how that stands to what the owner or seller says."""

    stamp: Stamp
    headline: Told | None = None
    besides: tuple[Told, ...] = ()
    claims: tuple[Told, ...] = ()


Row = tuple[ReadingPair, ...]
"""Readings told in one line: those of one thing that have nothing to be set against."""


@dataclass(frozen=True, slots=True)
class BenchSheet:
    """``later`` : the occasion set against the intake, None while nothing was read or tried then."""

    later: Occasion | None = None
    readings: tuple[ReadingPair, ...] = ()
    strings: tuple[StringsEntry, ...] = ()
    board: BoardEntry | None = None
    tests: tuple[TriedPair, ...] = ()
    faults: tuple[FaultEntry, ...] = ()
    stamps: tuple[StampEntry, ...] = ()

    @property
    def rows(self) -> tuple[Row, ...]:
        """The readings line by line: those of one thing that stand alike, string by string or fret by fret, go
        together."""
        rows: list[list[ReadingPair]] = []
        for pair in self.readings:
            before = rows[-1][-1] if rows else None
            alike = before is not None and (before.what, before.verdict, before.unlike, before.difference is None) == (
                pair.what,
                pair.verdict,
                pair.unlike,
                pair.difference is None,
            )
            if alike and pair.what != "coil" and pair.verdict != "condition":
                rows[-1].append(pair)
            else:
                rows.append([pair])
        return tuple(tuple(row) for row in rows)

    @property
    def tried_alike(self) -> tuple[tuple[TriedPair, ...], tuple[TriedPair, ...]]:
        """(what is worth a line each, what worked whenever it was tried)."""
        told, worked = [], []
        for pair in self.tests:
            results = {one.result for one in (pair.before, pair.after) if one is not None}
            notes = any(one.note for one in (pair.before, pair.after) if one is not None)
            (worked if results == {"works"} and not notes else told).append(pair)
        return tuple(told), tuple(worked)


NOTHING_FROM_THE_BENCH = BenchSheet()

"""Faults: heard when, tried what, likely what, and the retest with the same tests."""

from __future__ import annotations

from reportlab.platypus import CondPageBreak, Flowable, Paragraph, Spacer

from condition.records.bench_sheet import FaultEntry
from condition.records.fault import FaultTry
from condition.records.sheet import ConditionSheet
from condition.report.drawing import MM
from condition.report.flowables import Heading
from condition.report.sections import Press
from condition.report.styles import KIND
from condition.report.table import Cell, table
from condition.words import say


def faults(sheet: ConditionSheet, press: Press) -> list[Flowable]:
    """Return the section; nothing when there is no fault."""
    entries = sheet.bench.faults
    if not entries:
        return []
    story: list[Flowable] = [
        CondPageBreak(70 * MM),
        Spacer(0, 6 * MM),
        Heading(say("faults.report"), press.type_, "faults"),
    ]
    for entry in entries:
        story += _fault(entry, press)
    return story


def _fault(entry: FaultEntry, press: Press) -> list[Flowable]:
    fault, mark = entry.fault, press.type_.markup
    kind = fault.own_kind or say(f"faults.kind_{fault.kind.replace(' ', '_')}")
    heading = mark(kind[:1].upper() + kind[1:], "semibold")
    if fault.where:
        heading += mark(f"  {fault.where}")
    if entry.number is not None:
        heading += mark(f"  {say('faults.report_finding', number=entry.number)}", "italic")
    story: list[Flowable] = [Paragraph(heading, KIND), Spacer(0, 1.5 * MM)]
    story += press.noted(say("faults.heard_when"), fault.heard_when)
    tried = [one for one in fault.tries if one.effect != "not tried" or one.words]
    if tried:
        retested = any(one.again != "not tried" for one in tried)
        head = ["", say("readings.report_before"), *([say("faults.report_again")] if retested else [])]
        rows = [_try(one, retested) for one in tried]
        story += [table(head, rows, (40, 52, 52) if retested else (40, 104), press), Spacer(0, 3 * MM)]
    story += press.noted(say("faults.likely_cause"), fault.likely_cause, face="italic")
    if fault.retest != "not retested":
        outcome = say(f"faults.retest_{fault.retest.replace(' ', '_')}")
        words = f"{outcome[:1].upper()}{outcome[1:]}. {fault.retest_words}".strip()
        story += press.noted(say("faults.report_retest"), words)
    story += press.noted(say("faults.report_sounds"), "\n".join(_sounds(entry)))
    story += press.noted("", say("faults.no_verdict"))
    return story


def try_name(what: str) -> str:
    """The words of a test: from the catalogue for those laid out, else as typed."""
    code = f"faults.try_{what.replace(' ', '_')}"
    said = say(code)
    return what if said == code else said


def _try(one: FaultTry, retested: bool) -> list[Cell]:
    cells: list[Cell] = [try_name(one.what), _effect(one.effect, one.words)]
    if not retested:
        return cells
    face = "semibold" if "not tried" not in (one.effect, one.again) and one.again != one.effect else "text"
    return [*cells, (_effect(one.again, one.again_words), face)]


def _effect(effect: str, words: str) -> str:
    said = say(f"faults.effect_{effect.replace(' ', '_')}")
    return f"{said}: {words}" if words else said


def _sounds(entry: FaultEntry) -> list[str]:
    return [
        f"{sound.caption or sound.file_name} · SHA-256 {sound.sha256[:12]}…"
        for sound in entry.sounds
        if sound.file_name
    ]

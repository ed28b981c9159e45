"""Readings: what was read before and after, what can be said of the difference, and what the ± is made of."""

from __future__ import annotations

from reportlab.platypus import CondPageBreak, Flowable, Spacer

from condition.records.bench_sheet import BenchSheet, ReadingPair, Row, StringsEntry, Told
from condition.records.measurement import Measurement, as_text
from condition.records.reading import Reading
from condition.records.sheet import ConditionSheet
from condition.report.drawing import MM
from condition.report.flowables import Drawn, Heading
from condition.report.fretboard import WIDTH_MM, draw_fretboard, written
from condition.report.sections import Press
from condition.report.table import Cell, table
from condition.words import say, say_n

ON_THE_BOARD = ("action", "relief", "nut slot", "fret height", "fret place")


def readings(sheet: ConditionSheet, press: Press) -> list[Flowable]:
    """Return the section; nothing when nothing was read."""
    bench = sheet.bench
    if not bench.readings:
        return []
    story: list[Flowable] = [
        CondPageBreak(120 * MM),
        Spacer(0, 6 * MM),
        Heading(say("readings.report"), press.type_, "readings"),
    ]
    story += press.noted("", say("readings.report_how"))
    story += _picture(sheet, press)
    story += [_table(bench, press), Spacer(0, 4 * MM)]
    story += _coils(bench, press)
    story += _strings(bench, press)
    story += press.noted(say("readings.report_board"), _board(bench))
    return story


def _picture(sheet: ConditionSheet, press: Press) -> list[Flowable]:
    bench = sheet.bench
    spots = {spot: text for spot, text in written(bench.readings).items() if spot[0] in ON_THE_BOARD}
    strings = bench.strings[0].strings.strings if bench.strings else ()
    if not spots or not strings:
        return []
    drawn, height = draw_fretboard(strings, spots, sheet.instrument.handedness)
    return [Drawn(drawn, WIDTH_MM, height, press.type_), Spacer(0, 2 * MM)]


def _table(bench: BenchSheet, press: Press) -> Flowable:
    both = bench.later is not None
    head = ["", say("readings.report_before")]
    if both:
        head += [say(f"readings.report_{bench.later}"), say("readings.report_difference"), ""]
    rows = [_row(row, both) for row in bench.rows]
    return table(head, rows, (30, 24, 24, 26, 40) if both else (40, 60), press)


def _row(row: Row, both: bool) -> list[Cell]:
    cells: list[Cell] = [name_of(row), _values(row, "before")]
    if not both:
        return cells
    pair = row[0]
    difference = " · ".join(dict.fromkeys(as_text(one.difference) for one in row if one.difference))
    changed = pair.verdict in ("changed", "state")
    return [*cells, _values(row, "after"), difference, (verdict_of(pair), "semibold" if changed else "text")]


def name_of(row: Row) -> str:
    """Return such as ``Action, string 1, fret 12``."""
    first = row[0]
    strings = list(dict.fromkeys(pair.string for pair in row if pair.string is not None))
    frets = list(dict.fromkeys(pair.fret for pair in row if pair.fret))
    parts = [
        say(f"readings.what_{first.what.replace(' ', '_')}"),
        first.place,
        say_n("readings.at_strings", len(strings), numbers=", ".join(map(str, strings))) if strings else "",
        say_n("readings.at_frets", len(frets), frets=", ".join(map(str, frets))) if frets else "",
    ]
    return ", ".join(part for part in parts if part)


def verdict_of(pair: ReadingPair) -> str:
    """Say what the difference means, with how the conditions differ where they do."""
    if pair.verdict == "condition":
        return ""
    verdict = say(f"before_after.{pair.verdict.replace(' ', '_')}")
    unlike = "; ".join(told_text(told) for told in pair.unlike)
    return f"{verdict}: {unlike}" if unlike and pair.verdict in ("unlike", "open", "state") else verdict


def told_text(told: Told) -> str:
    code, values = told
    return say(code, **dict(values))


def _values(row: Row, side: str) -> str:
    return " · ".join(_value(getattr(pair, side)) for pair in row if getattr(pair, side)) or "–"


def _value(reading: Reading) -> str:
    if reading.coil is None:
        return reading.typed
    state = say(f"readings.state_{reading.coil.state.replace(' ', '_')}")
    to = say("readings.to", end=reading.coil.wanders_to) if reading.coil.wanders_to else ""
    return " ".join(part for part in (reading.typed, state, to) if part)


def _coils(bench: BenchSheet, press: Press) -> list[Flowable]:
    """For each coil what its reading comes to, under what terms, and the sentences that belong to it."""
    story: list[Flowable] = []
    for pair in bench.readings:
        if pair.what != "coil":
            continue
        for side, told in (("before", pair.told_before), ("after", pair.told_after)):
            reading = getattr(pair, side)
            if reading is None:
                continue
            when = say(f"readings.occasion_{reading.occasion}")
            lines = [*_comes_to(reading), *(told_text(one) for one in told)]
            if reading.note:
                lines.append(reading.note)
            story += press.noted(f"{pair.place}\n{when}", "\n".join(lines))
    return story


def _comes_to(reading: Reading) -> list[str]:
    lines = []
    if reading.measurement is not None and reading.coil.state == "steady":
        lines.append(say("readings.report_read", value=as_text(reading.measurement)))
    if reading.corrected is not None:
        warm = any(part.name == "temperature" for part in reading.corrected.parts)
        code = "readings.report_corrected" if warm else "readings.report_corrected_warm"
        lines.append(say(code, value=as_text(reading.corrected), control=_control(reading)))
        lines.append(say("readings.report_parts", parts=parts_of(reading.corrected)))
    return lines


def _control(reading: Reading) -> str:
    coil = reading.coil
    if coil.volume == "none":
        return say("readings.report_no_control")
    if coil.control_measured:
        return say("readings.report_measured_control", control=coil.control_typed)
    tolerance = f"{coil.control_tolerance_percent:g}"
    return say("readings.report_nominal_control", control=coil.control_typed, tolerance=tolerance)


def parts_of(measurement: Measurement) -> str:
    """Name each part of the ± with its standard uncertainty, the largest first."""
    ordered = sorted(measurement.parts, key=lambda part: -abs(part.standard))
    return ", ".join(f"{say(f'budget.{part.name}'.replace(' ', '_'))} {abs(part.standard):.2g} Ω" for part in ordered)


def _strings(bench: BenchSheet, press: Press) -> list[Flowable]:
    story: list[Flowable] = []
    for entry in bench.strings:
        when = say(f"readings.occasion_{entry.strings.occasion}")
        story += press.noted(f"{say('readings.report_strings')}\n{when}", "\n".join(_string_lines(entry)))
    return story


def _string_lines(entry: StringsEntry) -> list[str]:
    named = [f"{s.note} {s.gauge_typed}{f' ×{s.in_course}' if s.in_course > 1 else ''}" for s in entry.strings.strings]
    lines = [f"{', '.join(named)}; {say(f'readings.slack_{entry.strings.slackness}'.replace(' ', '_'))}."]
    if entry.pull is not None:
        lines.append(say("readings.report_pull", pull=as_text(entry.pull)))
        if entry.left_out:
            lines.append(say("readings.pull_left_out", strings=", ".join(map(str, entry.left_out))))
        if entry.estimated:
            lines.append(say("readings.pull_estimated"))
    return lines


def _board(bench: BenchSheet) -> str:
    board = bench.board
    if board is None:
        return ""
    rule = say(f"readings.rule_{board.rule}")
    said = say(
        "readings.report_board_fit",
        count=board.fret_count,
        rule=rule,
        length=f"{board.length_mm:.1f}",
        within=f"{board.length_expanded_mm:.1f}",
        spread=f"{board.spread_mm:.2f}",
    )
    return f"{said} {say('readings.report_apart' if board.told_apart else 'readings.report_not_apart')}"

"""The function test: what works and what does not, before and after."""

from __future__ import annotations

from reportlab.platypus import CondPageBreak, Flowable, Spacer

from condition.records.bench_sheet import TriedPair
from condition.records.function_test import FunctionTest
from condition.records.sheet import ConditionSheet
from condition.report.drawing import MM
from condition.report.flowables import Heading
from condition.report.sections import Press
from condition.report.table import Cell, table
from condition.words import say


def function_test(sheet: ConditionSheet, press: Press) -> list[Flowable]:
    """Return the section; nothing when nothing was tried."""
    bench = sheet.bench
    if not any(_tried(pair.before) or _tried(pair.after) for pair in bench.tests):
        return []
    both = any(pair.after for pair in bench.tests)
    head = ["", say("readings.report_before")]
    if both:
        head.append(say(f"readings.report_{bench.later}"))
    told, worked = bench.tried_alike
    rows = [_row(pair, both) for pair in told]
    if worked:
        works = say("function_test.works")
        names = ", ".join(pair.item for pair in worked)
        rows.append([names, works, works if any(pair.after for pair in worked) else "–"][: len(head)])
    return [
        CondPageBreak(50 * MM),
        Spacer(0, 6 * MM),
        Heading(say("function_test.report"), press.type_, "function_test"),
        table(head, rows, (46, 49, 49) if both else (46, 98), press),
        Spacer(0, 4 * MM),
    ]


def _tried(test: FunctionTest | None) -> bool:
    return test is not None and (test.result != "not tried" or bool(test.note))


def _row(pair: TriedPair, both: bool) -> list[Cell]:
    differs = pair.before and pair.after and pair.before.result != pair.after.result
    face = "semibold" if differs else "text"
    cells: list[Cell] = [pair.item, _result(pair.before)]
    return [*cells, (_result(pair.after), face)] if both else cells


def _result(test: FunctionTest | None) -> str:
    if test is None:
        return "–"
    result = say(f"function_test.{test.result}".replace(" ", "_"))
    return f"{result}: {test.note}" if test.note else result

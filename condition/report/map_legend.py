"""Below a map: the legend of its kinds with their numbers, and the facts every sheet carries."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

from condition.records.legend import INK, KINDS, MUTED, RULE
from condition.records.shapes import Ring
from condition.report.drawing import MM, Path, Primitive, Stroke, Text
from condition.report.fonts import Typesetter
from condition.report.hatch import hatch
from condition.report.map_plan import Placed
from condition.report.symbols import kind_symbol
from condition.words import say

ROW_MM = 6.4
COLUMNS = 2
_SWATCH = (9.0, 3.8)
_WORD_MM = _SWATCH[0] + 8.0
_TYPE_MM = 2.9
_LINE_MM = 4.0
_FACT_COLUMNS = 5
_FACT_MM = 8.2


@dataclass(frozen=True, slots=True)
class _Entry:
    kind: str
    area: bool
    numbers: tuple[str, ...]
    """The numbers of its findings, in lines that fit the column."""

    @property
    def height(self) -> float:
        return ROW_MM + (len(self.numbers) - 1) * _LINE_MM


def legend_height(placed: Sequence[Placed], width_mm: float, type_: Typesetter) -> float:
    columns = _columns(placed, width_mm, type_)
    tallest = max(sum(entry.height for entry in column) for column in columns)
    return tallest + (5.0 if _doubtful(placed) else 0.0)


def draw_legend(placed: Sequence[Placed], width_mm: float, type_: Typesetter) -> list[Primitive]:
    """Draw one entry a kind: its line and hatch, symbol, word, and the numbers of its findings."""
    drawn: list[Primitive] = []
    bottom = 0.0
    for k, column in enumerate(_columns(placed, width_mm, type_)):
        x, y = k * width_mm / COLUMNS, 0.0
        for entry in column:
            drawn += _swatch(entry.kind, x, y + 0.6, area=entry.area)
            drawn += kind_symbol(entry.kind, x + _SWATCH[0] + 4.0, y + 2.5, 1.3)
            drawn.append(Text(x + _WORD_MM, y + 3.5, say(f"kind.{entry.kind}"), _TYPE_MM, INK, "text"))
            at = x + _numbers_start(entry.kind, type_)
            for row, line in enumerate(entry.numbers):
                drawn.append(Text(at, y + 3.5 + row * _LINE_MM, line, _TYPE_MM, INK, "semibold"))
            y += entry.height
        bottom = max(bottom, y)
    if _doubtful(placed):
        drawn.append(Text(0, bottom + 3.0, say("map.doubtful"), 2.5, MUTED, "italic"))
    return drawn


def _numbers_start(kind: str, type_: Typesetter) -> float:
    return _WORD_MM + type_.width(say(f"kind.{kind}"), "text", _TYPE_MM) + 2.4


def _columns(placed: Sequence[Placed], width_mm: float, type_: Typesetter) -> list[list[_Entry]]:
    entries = []
    for kind in KINDS:
        members = [item for item in placed if item.finding.kind == kind]
        if members:
            numbers = [str(item.finding.number) for item in members]
            area = any(isinstance(shape, Ring) for item in members for shape in item.shapes)
            room = width_mm / COLUMNS - _numbers_start(kind, type_) - 3
            entries.append(_Entry(kind, area, _lines(numbers, room, type_)))
    total = sum(entry.height for entry in entries)
    columns: list[list[_Entry]] = [[] for _ in range(COLUMNS)]
    above = 0.0
    for entry in entries:
        columns[min(COLUMNS - 1, int(above * COLUMNS / total + 1e-9))].append(entry)
        above += entry.height
    return columns


def _lines(numbers: Sequence[str], room: float, type_: Typesetter) -> tuple[str, ...]:
    lines = [numbers[0]]
    for number in numbers[1:]:
        longer = f"{lines[-1]}, {number}"
        if type_.width(longer, "semibold", _TYPE_MM) <= room:
            lines[-1] = longer
        else:
            lines[-1] += ","
            lines.append(number)
    return tuple(lines)


Fact = tuple[str, str, int]
"""Label, value, and how many columns it takes."""


def facts_height(facts: Sequence[Fact]) -> float:
    return -(-sum(span for *_, span in facts) // _FACT_COLUMNS) * _FACT_MM + 3.0


def draw_facts(facts: Sequence[Fact], width_mm: float, type_: Typesetter) -> list[Primitive]:
    """Draw the sheet's facts (label, value) under a hairline, in columns."""
    each = width_mm / _FACT_COLUMNS
    drawn: list[Primitive] = [Path((((0, 0), (width_mm, 0)),), False, Stroke(RULE, 0.14))]
    k = 0
    for label, value, span in facts:
        x, y = (k % _FACT_COLUMNS) * each, 4.2 + (k // _FACT_COLUMNS) * _FACT_MM
        k += span
        drawn.append(Text(x, y, label, 2.2, MUTED))
        drawn.append(Text(x, y + 3.7, shortened(value, span * each - 3, 2.75, "text", type_), 2.75, INK, "text"))
    return drawn


def shortened(text: str, room: float, size: float, face: str, type_: Typesetter) -> str:
    """Return the text, or as much of it as fits with an ellipsis."""
    if type_.width(text, face, size * MM) <= room * MM:
        return text
    too_many = bisect_right(range(len(text) + 1), room * MM, key=lambda n: type_.width(text[:n] + "…", face, size * MM))
    return text[: max(0, too_many - 1)].rstrip(" ,") + "…"


def _doubtful(placed: Sequence[Placed]) -> bool:
    return any(item.finding.state == "doubtful" for item in placed)


def _swatch(kind: str, x: float, y: float, *, area: bool) -> list[Primitive]:
    sign = KINDS[kind]
    width, height = _SWATCH
    stroke = Stroke(sign.colour, 0.32, tuple(length * 0.32 for length in sign.dash))
    if not area:
        middle = y + height / 2
        return [Path((((x, middle), (x + width, middle)),), False, stroke)]
    box = ((x, y), (x + width, y), (x + width, y + height), (x, y + height))
    lines = [Path(cut, False, Stroke(sign.colour, 0.13)) for a, s in sign.hatch if (cut := hatch(Ring(box), a, s))]
    return [*lines, Path((box,), True, stroke)]

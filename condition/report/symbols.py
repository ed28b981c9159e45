"""The legend's symbols as lines and areas: each kind of finding can be told from the others without colour."""

from __future__ import annotations

import math
from dataclasses import dataclass

from condition.records.legend import KINDS, Sign
from condition.records.shapes import Pair
from condition.report.drawing import Path, Primitive, Stroke

_Line = tuple[Pair, ...]


@dataclass(frozen=True, slots=True)
class _Glyph:
    """Open lines, closed outlines and filled areas in a box from -1 to 1, y down."""

    lines: tuple[_Line, ...] = ()
    outlines: tuple[_Line, ...] = ()
    areas: tuple[_Line, ...] = ()


def _round(radius: float, x: float = 0.0, y: float = 0.0, start: float = 0.0, span: float = 360.0) -> _Line:
    steps = max(8, round(abs(span) / 12))
    closed = abs(span) >= 360
    angles = [math.radians(start + span * k / steps) for k in range(steps if closed else steps + 1)]
    return tuple((x + radius * math.cos(a), y + radius * math.sin(a)) for a in angles)


def _box(half_x: float, half_y: float) -> _Line:
    return ((-half_x, -half_y), (half_x, -half_y), (half_x, half_y), (-half_x, half_y))


def _wave() -> _Line:
    return tuple((-1 + k / 12, 0.45 * math.sin(2 * math.pi * k / 12)) for k in range(25))


def _drop() -> _Line:
    return ((0, -1), *_round(0.6, 0, 0.35, -30, 240))


_GLYPHS: dict[str, _Glyph] = {
    "zigzag": _Glyph(lines=(((-1, 0.45), (-0.5, -0.45), (0, 0.45), (0.5, -0.45), (1, 0.45)),)),
    "ring": _Glyph(outlines=(_round(0.72),)),
    "ring-dot": _Glyph(outlines=(_round(0.85),), areas=(_round(0.3),)),
    "disc": _Glyph(areas=(_round(0.72),)),
    "slot": _Glyph(outlines=((*_round(0.5, 0.5, 0, -90, 180), *_round(0.5, -0.5, 0, 90, 180)),)),
    "wave": _Glyph(lines=(_wave(),)),
    "bars": _Glyph(lines=tuple(((x, -0.8), (x, 0.8)) for x in (-0.6, 0.0, 0.6))),
    "patch": _Glyph(
        areas=(((-0.9, -0.2), (-0.3, -0.8), (0.4, -0.55), (0.95, -0.1), (0.6, 0.7), (-0.2, 0.5), (-0.7, 0.75)),)
    ),
    "net": _Glyph(
        lines=(((-1, -0.4), (1, -0.6)), ((-1, 0.5), (1, 0.3)), ((-0.5, -1), (-0.3, 1)), ((0.4, -1), (0.55, 1)))
    ),
    "veil": _Glyph(outlines=(_box(0.8, 0.8),), lines=tuple(((x, -0.8), (x, 0.8)) for x in (-0.27, 0.27))),
    "dent": _Glyph(lines=(((-1, -0.3), (-0.6, -0.3)), ((0.6, -0.3), (1, -0.3)), _round(0.6, 0, -0.3, 180, -180))),
    "chip": _Glyph(areas=(((-0.8, 0.7), (0.1, -0.8), (0.8, 0.7)),)),
    "drop": _Glyph(outlines=(_drop(),)),
    "rust": _Glyph(
        areas=tuple(_round(0.22, x, y) for x, y in ((-0.6, -0.5), (0.1, -0.6), (0.65, -0.1), (-0.3, 0.2), (0.2, 0.65)))
    ),
    "seam": _Glyph(
        lines=(
            ((-1, -0.35), (1, -0.35)),
            ((-1, 0.35), (-0.4, 0.35)),
            ((-0.1, 0.35), (0.3, 0.35)),
            ((0.6, 0.35), (1, 0.35)),
        )
    ),
    "lift": _Glyph(lines=(((-1, 0.55), (1, 0.55)), ((-0.9, 0.55), (0.7, -0.6)))),
    "bow": _Glyph(
        lines=(((-1, 0.5), (1, 0.5)), tuple((x / 10, 0.5 - 0.9 * (1 - (x / 10) ** 2)) for x in range(-10, 11)))
    ),
    "break": _Glyph(
        lines=(
            ((-1, 0.3), (-0.15, 0.3), (0.05, -0.2), (-0.1, -0.5)),
            ((0.15, 0.5), (0.3, 0.2), (0.15, -0.3), (1, -0.3)),
        )
    ),
    "mend": _Glyph(lines=(((-1, 0), (1, 0)), *(((x - 0.15, -0.5), (x + 0.15, 0.5)) for x in (-0.6, 0, 0.6)))),
    "gap": _Glyph(
        lines=tuple(
            line
            for s in (-0.8, 0.8)
            for line in (((-0.8, s), (-0.3, s)), ((0.3, s), (0.8, s)), ((s, -0.8), (s, -0.3)), ((s, 0.3), (s, 0.8)))
        )
    ),
    "bolt": _Glyph(areas=(((0.25, -1), (-0.6, 0.15), (-0.05, 0.15), (-0.25, 1), (0.6, -0.2), (0.05, -0.2)),)),
    "diamond": _Glyph(outlines=(((0, -0.9), (0.8, 0), (0, 0.9), (-0.8, 0)),)),
    "axis": _Glyph(lines=(((0, -1), (0, -0.3)), ((0, -0.1), (0, 0.1)), ((0, 0.3), (0, 1)))),
    "contour": _Glyph(outlines=(_round(0.8),), lines=(((-0.3, 0), (0.3, 0)), ((0, -0.3), (0, 0.3)))),
}


def symbol(sign: Sign, x: float, y: float, half_mm: float, colour: str | None = None) -> tuple[Primitive, ...]:
    """Return the sign's symbol centred at (x, y), ``half_mm`` from centre to edge."""
    glyph, ink = _GLYPHS[sign.symbol], colour or sign.colour
    stroke = Stroke(ink, max(0.14, 0.16 * half_mm))

    def placed(line: _Line) -> _Line:
        return tuple((x + half_mm * u, y + half_mm * v) for u, v in line)

    drawn: list[Primitive] = []
    if glyph.areas:
        drawn += [Path((placed(area),), True, None, ink) for area in glyph.areas]
    if glyph.outlines:
        drawn.append(Path(tuple(map(placed, glyph.outlines)), True, stroke))
    if glyph.lines:
        drawn.append(Path(tuple(map(placed, glyph.lines)), False, stroke))
    return tuple(drawn)


def kind_symbol(kind: str, x: float, y: float, half_mm: float) -> tuple[Primitive, ...]:
    return symbol(KINDS[kind], x, y, half_mm)

"""The fingerboard as a picture: where action, relief, nut slots and frets are read, with what was read there.

Seen from the front with the nut at the left, as it lies on the bench: strung for a right-handed player the lowest
string is at the bottom, for a left-handed one on top (common practice). Below it the neck from the side, the bend drawn
many times too large. Millimetres on paper.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from condition.records.bench_sheet import ReadingPair
from condition.records.instrument import Handedness
from condition.records.legend import ACCENT, ACCENT_SOFT, INK, MUTED, RULE
from condition.records.reading import FittedString, Reading, What, across
from condition.report.drawing import Disc, Path, Primitive, Stroke, Text, svg_of
from condition.trade.frets import fret_from_nut
from condition.words import say

WIDTH_MM = 166.0
_NUT_X, _END_X = 24.0, 162.0
_LAST_FRET = 16
_SPACING = 7.0
_TOP = 9.0
_BELOW = 8.0
_SIDE = 24.0
_TEXT = 2.9
_WOOD = "#F3EFE6"
_EMPTY = "#FFFFFF"

Spot = tuple[What, int | None, int | None]
"""What is read, at which string and fret."""


@dataclass(frozen=True, slots=True)
class Written:
    """What stands at a spot: before, and after where there is one."""

    before: str = ""
    after: str = ""

    @property
    def text(self) -> str:
        same = self.after in ("", self.before)
        return self.before if same else f"{self.before or '–'} → {self.after}"


def written(pairs: tuple[ReadingPair, ...]) -> dict[Spot, Written]:
    """Return what was read at each spot of the board."""
    return {(p.what, p.string, p.fret): Written(_short(p.before), _short(p.after)) for p in pairs}


def written_once(readings: tuple[Reading, ...]) -> dict[Spot, Written]:
    """Return what was read at each spot on one occasion."""
    return {(one.what, one.string, one.fret): Written(_short(one)) for one in readings}


def _short(reading: Reading | None) -> str:
    return "" if reading is None else reading.typed.removesuffix("mm").strip()


def draw_fretboard(
    strings: tuple[FittedString, ...], spots: Mapping[Spot, Written], handedness: Handedness = "right"
) -> tuple[list[Primitive], float]:
    """Return the picture and its height in mm."""
    courses = across(strings, handedness)[::-1]
    lines = {string.number: _TOP + _SPACING * (k + 0.5) for k, string in enumerate(courses)}
    bottom = _TOP + _SPACING * max(1, len(courses))
    drawn = _board(courses, lines, bottom)
    for number, y in lines.items():
        drawn += _dot(_NUT_X, y, spots.get(("nut slot", number, 0)), left=True)
        for fret in _frets_of("action", number, spots) or [12]:
            drawn += _dot(_x(fret), y, spots.get(("action", number, fret)))
    for fret in _frets_of("fret height", None, spots):
        drawn.append(Text(_x(fret), _TOP - 1.6, spots[("fret height", None, fret)].text, _TEXT, INK, anchor="middle"))
    for fret in _frets_of("fret place", None, spots):
        text = spots[("fret place", None, fret)].text
        drawn.append(Text(_x(fret), bottom + 3.6, text, _TEXT, INK, anchor="middle"))
    drawn += _margins(spots, bottom)
    drawn += _side(spots, bottom + _BELOW)
    return drawn, bottom + _BELOW + _SIDE


def fretboard_svg(
    strings: tuple[FittedString, ...], spots: Mapping[Spot, Written], width_px: float, handedness: Handedness = "right"
) -> str:
    """Return the picture as SVG text."""
    drawn, height = draw_fretboard(strings, spots, handedness)
    return svg_of(drawn, WIDTH_MM, height, width_px, say("readings.picture"))


def _x(fret: float) -> float:
    return _NUT_X + (_END_X - _NUT_X) * fret_from_nut(1.0, fret) / fret_from_nut(1.0, _LAST_FRET)


def _frets_of(what: What, string: int | None, spots: Mapping[Spot, Written]) -> list[int]:
    return sorted(
        fret
        for kind, number, fret in spots
        if (kind, number) == (what, string) and fret is not None and 0 < fret <= _LAST_FRET
    )


def _board(courses: tuple[FittedString, ...], lines: dict[int, float], bottom: float) -> list[Primitive]:
    box = ((_NUT_X, _TOP), (_END_X, _TOP), (_END_X, bottom), (_NUT_X, bottom))
    drawn: list[Primitive] = [Path((box,), True, None, _WOOD)]
    for fret in range(1, _LAST_FRET + 1):
        x = _x(fret)
        drawn.append(Path((((x, _TOP), (x, bottom)),), stroke=Stroke(RULE, 0.5)))
        if fret in (1, 5, 7, 12, 15):
            drawn.append(Text((x + _x(fret - 1)) / 2, bottom - 0.9, str(fret), 2.2, MUTED, anchor="middle"))
    drawn.append(Path((((_NUT_X, _TOP), (_NUT_X, bottom)),), stroke=Stroke(INK, 1.1)))
    for string in courses:
        for k in range(min(string.in_course, 3)):
            y = lines[string.number] + 0.9 * (k - (min(string.in_course, 3) - 1) / 2)
            drawn.append(Path((((_NUT_X, y), (_END_X, y)),), stroke=Stroke(MUTED, 0.18 + 0.05 * string.number)))
        drawn.append(Text(1.0, lines[string.number] + 1.0, string.note, _TEXT, MUTED))
    return drawn


def _dot(x: float, y: float, found: Written | None, *, left: bool = False) -> list[Primitive]:
    drawn: list[Primitive] = [Disc(x, y, 1.25, Stroke(ACCENT, 0.35), ACCENT if found else _EMPTY)]
    if found and found.text:
        anchor = "end" if left else "start"
        drawn.append(Text(x + (-2.0 if left else 2.0), y - 0.9, found.text, _TEXT, INK, "semibold", anchor))
    return drawn


def _margins(spots: Mapping[Spot, Written], bottom: float) -> list[Primitive]:
    drawn: list[Primitive] = []
    if _frets_of("fret height", None, spots):
        drawn.append(Text(1.0, _TOP - 1.6, say("readings.what_fret_height"), _TEXT, MUTED))
    if _frets_of("fret place", None, spots):
        drawn.append(Text(1.0, bottom + 3.6, say("readings.what_fret_place"), _TEXT, MUTED))
    return drawn


def _side(spots: Mapping[Spot, Written], top: float) -> list[Primitive]:
    """The neck from the side: the string straight, the frets' line bent, arrows where they part."""
    string_y, bend = top + 5.0, 4.2

    def board_y(fret: float) -> float:
        along = (_x(fret) - _NUT_X) / (_END_X - _NUT_X)
        return string_y + 1.6 + 3.0 * along + bend * 4 * along * (1 - along)

    surface = tuple((_x(fret), board_y(fret)) for fret in range(_LAST_FRET + 1))
    low = top + 16.0
    drawn: list[Primitive] = [
        Path(((*surface, (_END_X, low), (_NUT_X, low)),), True, None, ACCENT_SOFT),
        Path((surface,), stroke=Stroke(MUTED, 0.3)),
        Path((((_NUT_X, string_y), (_END_X, string_y)),), stroke=Stroke(INK, 0.25)),
        Path((((_NUT_X, string_y - 1.5), (_NUT_X, low)),), stroke=Stroke(INK, 1.1)),
        Path((((_x(0), board_y(0)), (_x(_LAST_FRET), board_y(_LAST_FRET))),), stroke=Stroke(MUTED, 0.2, (1.2, 0.8))),
    ]
    relief = next((spots[s] for s in spots if s[0] == "relief"), None)
    fret = next((s[2] for s in spots if s[0] == "relief" and s[2]), 7)
    chord = board_y(0) + (board_y(_LAST_FRET) - board_y(0)) * (_x(fret) - _NUT_X) / (_END_X - _NUT_X)
    arrows = (
        (fret, chord, board_y(fret), "readings.what_relief", relief),
        (12, string_y, board_y(12), "readings.what_action", None),
        (0, string_y, board_y(0), "readings.what_nut_slot", None),
    )
    for at, y0, y1, code, found in arrows:
        x = _x(at) if at else _NUT_X + 2.2
        drawn += _arrow(x, y0, y1)
        label = f"{say(code)}  {found.text}" if found and found.text else say(code)
        face = "semibold" if found and found.text else "caption"
        drawn.append(Text(x + 1.2, low + 3.6, label, _TEXT, INK if found else MUTED, face))
        drawn.append(Path((((x, y1 + 0.4), (x, low + 3.8)),), stroke=Stroke(RULE, 0.2)))
    return drawn


def _arrow(x: float, y0: float, y1: float) -> list[Primitive]:
    ink = Stroke(ACCENT, 0.5)
    head = min(1.0, abs(y1 - y0) / 3)
    return [
        Path((((x, y0), (x, y1)),), stroke=ink),
        Path((((x - head, y0 + head), (x, y0), (x + head, y0 + head)),), stroke=ink),
        Path((((x - head, y1 - head), (x, y1), (x + head, y1 - head)),), stroke=ink),
    ]

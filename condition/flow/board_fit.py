"""What the measured fret places say of the board, and where the string length puts its frets."""

from __future__ import annotations

import math
from dataclasses import dataclass

from condition.flow.desk import Desk
from condition.flow.readings import readings_of
from condition.flow.strings import string_length
from condition.records.job import Job
from condition.records.measurement import COVERAGE_K
from condition.records.reading import Occasion
from condition.trade.fret_board import BoardFit, fit_rules
from condition.trade.frets import fret_from_nut


@dataclass(frozen=True, slots=True)
class FretRow:
    """One fret: measured from the nut, and where a rule with the string length puts it, mm."""

    fret: int
    measured_mm: float
    exact_mm: float | None
    eighteen_mm: float | None


@dataclass(frozen=True, slots=True)
class Board:
    """fits : the board by each rule, the best first; told_apart : the scatter is clearly less by the best one

    expanded_mm : of each fit's string length (k = 2), from the scatter and the tool's own error, alike at all places
    """

    rows: tuple[FretRow, ...]
    fits: tuple[BoardFit, ...]
    expanded_mm: tuple[float, ...]
    told_apart: bool


MANY_TIMES = 2.0
ENOUGH = 3
"""Frets from which the scatter can tell the rules apart."""


def board_of(desk: Desk, job: Job, occasion: Occasion) -> Board | None:
    """Return what the measured fret places come to, None without any."""
    read = [
        one
        for one in readings_of(desk, job, occasion)
        if one.what == "fret place" and one.fret and one.measurement is not None
    ]
    if not read:
        return None
    taken = sorted((one.fret, one.measurement.value) for one in read)
    tool_mm = max(one.measurement.expanded for one in read)
    length = string_length(desk, job, occasion)
    rows = tuple(
        FretRow(
            fret,
            place,
            fret_from_nut(length.value, fret) if length else None,
            fret_from_nut(length.value, fret, "18") if length else None,
        )
        for fret, place in taken
    )
    fits = fit_rules(taken)
    apart = len(taken) >= ENOUGH and fits[1].spread_mm > MANY_TIMES * max(fits[0].spread_mm, 0.05)
    return Board(rows, fits, tuple(_expanded(fit, tool_mm) for fit in fits), apart)


def _expanded(fit: BoardFit, tool_mm: float) -> float:
    """The fit's own scatter and an error all places have alike, such as where the rule's zero lay at the nut."""
    shares = [fret_from_nut(1.0, fret, fit.rule) for fret in fit.frets]
    return math.hypot(COVERAGE_K * fit.length_sd_mm, tool_mm * sum(shares) / sum(s * s for s in shares))

"""The strings on the instrument, and how hard they pull on the neck."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from condition.errors import Refused
from condition.flow.desk import Desk, new_id
from condition.flow.readings import reading_at
from condition.measure.typed import typed
from condition.records.instrument import Instrument
from condition.records.job import Job
from condition.records.measurement import COVERAGE_K, Contribution, Measurement
from condition.records.reading import FittedString, Occasion, StringSet, across
from condition.trade.pitch import hertz
from condition.trade.spoken import length_mm
from condition.trade.strings import tension_n, unit_weight
from condition.trade.tables import rows

FAMILY_TUNINGS = {
    "electric bass": "bass",
    "acoustic bass": "bass",
    "mandolin": "mandolin",
    "octave mandolin": "octave mandolin",
    "mandola": "mandola",
    "bouzouki": "bouzouki",
    "banjo": "banjo",
    "ukulele": "ukulele",
}
"""Families with a tuning of their own; all others are laid out as a guitar and changed by hand."""

GAUGE_STEP_MM = 0.0254
PITCH_SHARE = 0.003
"""Standard uncertainty of a string tuned by ear or clip-on tuner, about 5 cents (common practice)."""


@dataclass(frozen=True, slots=True)
class Pull:
    """total : of all strings at pitch, newtons; each : (number, newtons of the course); left_out : courses that cannot
    be reckoned for want of note, gauge or rule; estimated : a weight is not from a table's own row"""

    total: Measurement | None
    each: tuple[tuple[int, float], ...]
    left_out: tuple[int, ...]
    estimated: bool


def usual_strings(family: str) -> tuple[FittedString, ...]:
    """The usual courses of a kind of instrument, without gauges."""
    tuning = FAMILY_TUNINGS.get(family, "guitar")
    return tuple(
        FittedString(int(row["number"]), row["note"], in_course=int(row["in_course"]))
        for row in rows("tunings")
        if row["family"] == tuning
    )


def strings_at(desk: Desk, job: Job, occasion: Occasion) -> StringSet:
    """The strings noted for an occasion; not noted yet, the usual ones of the family (not stored)."""
    known = desk.store.find(StringSet, job_id=job.id, occasion=occasion)
    if known:
        return known[0]
    before = desk.store.find(StringSet, job_id=job.id, occasion="intake")
    family = desk.store.get(Instrument, job.instrument_id).family
    strings = tuple(replace(s, gauge_typed="", gauge_mm=None) for s in before[0].strings) if before else ()
    return StringSet(new_id(), job.id, occasion, strings=strings or usual_strings(family))


def strings_across(desk: Desk, job: Job, occasion: Occasion) -> tuple[FittedString, ...]:
    """The strings as they lie on the instrument from left to right, seen from the front with the neck up."""
    handedness = desk.store.get(Instrument, job.instrument_id).handedness
    return across(strings_at(desk, job, occasion).strings, handedness)


def keep_strings(desk: Desk, edited: StringSet) -> StringSet:
    """Keep the strings as edited; gauges are read from what was typed (thousandths when no unit is said).

    Raises
    ------
    Refused
        ``spoken.length``; ``strings.note``; ``strings.gauge``: no string is that thick.
    """
    made = replace(edited, strings=tuple(_read(string) for string in edited.strings))
    with desk.store.write(new_id(), desk.person) as work:
        if made == work.one(StringSet, id=made.id):
            return made
        return work.put(made)


def _read(string: FittedString) -> FittedString:
    if string.note.strip():
        hertz(string.note)
    text = string.gauge_typed.strip()
    if not text:
        return replace(string, gauge_mm=None)
    bare = text.replace(".", "").replace(",", "").isdigit()
    value = length_mm(_as_gauge(text) if bare else text).value
    if not 0.1 <= value <= 4.0:
        raise Refused("strings.gauge", text=text)
    return replace(string, gauge_mm=value)


def _as_gauge(text: str) -> str:
    """A bare gauge: ``12`` and ``.012`` are inches, ``0.30`` is millimetres from two tenths up with a leading zero."""
    plain = text.replace(",", ".")
    if "." not in plain:
        return f"{plain} thou"
    return f"{plain} in" if plain.startswith(".") or float(plain) < 0.2 else f"{plain} mm"


def string_length(desk: Desk, job: Job, occasion: Occasion) -> Measurement | None:
    """The string length as read at the occasion, or as the instrument's facts have it."""
    read = reading_at(desk, job, "string length", occasion)
    if read is not None:
        return read.measurement
    known = desk.store.get(Instrument, job.instrument_id).string_length_mm
    return typed("length", known, "mm", "rule") if known else None


def pull_of(strings: StringSet, length: Measurement | None) -> Pull:
    """How hard the strings pull at pitch: T = UW (2 L F)^2 / g, added over all strings of each course."""
    each, left_out, variances, shared = [], [], 0.0, 0.0
    estimated = False
    for string in strings.strings:
        weight = _weight(string)
        if length is None or weight is None or not string.note.strip():
            left_out.append(string.number)
            continue
        one = string.in_course * tension_n(weight[0], length.value, hertz(string.note))
        each.append((string.number, one))
        variances += (one * math.hypot(weight[1] / weight[0], 2 * PITCH_SHARE)) ** 2
        shared += 2 * one * (length.expanded / COVERAGE_K) / length.value
        estimated = estimated or weight[2]
    if not each:
        return Pull(None, (), tuple(left_out), False)
    parts = (Contribution("string weight and pitch", math.sqrt(variances)), Contribution("string length", shared))
    expanded = COVERAGE_K * math.hypot(*(part.standard for part in parts))
    total = Measurement("pull", sum(n for _, n in each), "N", expanded, "gauge", "string tension 1", parts=parts)
    return Pull(total, tuple(each), tuple(left_out), estimated)


def _weight(string: FittedString) -> tuple[float, float, bool] | None:
    """Unit weight in lb/in, its standard uncertainty, and whether it is an estimate."""
    if string.unit_weight_lb_in:
        return string.unit_weight_lb_in, 0.005 * string.unit_weight_lb_in, False
    if string.gauge_mm is None:
        return None
    found = unit_weight(string.gauge_mm, string.winding)
    return None if found is None else (found.lb_in, found.standard, found.estimated)

"""What a coil's reading at the jack comes to, and what can be said of it: never that a part is good."""

from __future__ import annotations

import math

from condition.errors import Refused
from condition.measure.coil import (
    Beside,
    at_20_degrees,
    measured_control,
    nominal_control,
    read_at_jack,
    without_control,
)
from condition.records.measurement import COVERAGE_K, Measurement, as_text
from condition.records.reading import Coil, Reading

Told = tuple[str, tuple[tuple[str, str], ...]]

ADVICE = frozenset({"coil.move_one_thing", "coil.sweep_tone", "coil.control_unknown"})
"""What is said to whoever reads the meter, and not in a paper."""

KNOB_TIMES = 1.5
"""A reading so far above the expected range is a knob's position rather than a coil (EL-33 gives 3.6 times at a tenth
of a turn)."""


def corrected(reading: Reading, room: Measurement | None, control_step_ohm: float = 0.0) -> Measurement | None:
    """The coil's own resistance, at 20 °C when a temperature is known; None when the reading does not allow it.

    Parameters
    ----------
    room : the room's temperature, for a coil that has none of its own
    control_step_ohm : the place a measured control was read to
    """
    coil, raw = reading.coil, reading.measurement
    if coil is None or raw is None or coil.state != "steady" or coil.volume == "not full" or coil.tone == "moves":
        return None
    if coil.volume == "full":
        if coil.control_ohm is None:
            return None
        try:
            raw = without_control(raw, _beside(coil, control_step_ohm))
        except Refused:
            return None
    warm = temperature_of(coil, room)
    return raw if warm is None else at_20_degrees(raw, *warm)


def temperature_of(coil: Coil, room: Measurement | None) -> tuple[float, float] | None:
    """The coil's temperature and its standard uncertainty: its own as typed, or the room's with the doubt whether the
    coil has taken it on."""
    doubt = coil.temperature_within_c / math.sqrt(3.0)
    if coil.temperature_c is not None:
        return coil.temperature_c, doubt
    if room is not None:
        return room.value, math.hypot(room.expanded / COVERAGE_K, doubt)
    return None


def _beside(coil: Coil, step_ohm: float) -> Beside:
    if coil.control_measured:
        read = read_at_jack(coil.control_ohm, step_ohm, coil.meter_percent, coil.meter_digits)
        return measured_control(coil.control_ohm, read.expanded / COVERAGE_K, coil.controls)
    return nominal_control(coil.control_ohm, coil.control_tolerance_percent, coil.controls)


def sentences(reading: Reading) -> tuple[Told, ...]:
    """What is to be said beside a coil's reading, the most telling first."""
    coil = reading.coil
    if coil is None:
        return ()
    match coil.state:
        case "not this way":
            return (("coil.not_this_way", ()),)
        case "open":
            return (("coil.open", ()),)
        case "shorted":
            return (("coil.shorted", ()),)
        case "wandering":
            return (("coil.wandering_open" if _to_open(coil) else "coil.wandering", ()), ("coil.move_one_thing", ()))
    told: list[Told] = []
    if coil.volume == "not full":
        told.append(("coil.not_full", ()))
    elif coil.tone == "moves":
        told.append(("coil.tone_moves", ()))
    elif reading.measurement is not None:
        told += _of_steady(reading, coil)
    if coil.tone == "not swept" and coil.volume != "none":
        told.append(("coil.sweep_tone", ()))
    if reading.measurement is not None:
        told.append(("coil.says_no_more", ()))
    return tuple(told)


def _to_open(coil: Coil) -> bool:
    return coil.wanders_to.strip().lower() in ("open", "ol", "o.l", "∞")


def _of_steady(reading: Reading, coil: Coil) -> list[Told]:
    raw = reading.measurement
    if coil.volume == "full" and coil.control_ohm is None:
        return [("coil.control_unknown", ()), *_expected(raw, coil)]
    if reading.corrected is None:
        return [("coil.above_control", ())]
    told: list[Told] = []
    if not any(part.name == "temperature" for part in reading.corrected.parts):
        told.append(("coil.no_temperature", ()))
    return told + _expected(reading.corrected, coil)


def _expected(value: Measurement, coil: Coil) -> list[Told]:
    low, high = coil.expected_low_ohm, coil.expected_high_ohm
    if low is None or high is None:
        return []
    if value.value > KNOB_TIMES * high:
        return [("coil.knob", ())]
    below, above = value.value - value.expanded, value.value + value.expanded
    if low <= below and above <= high:
        return [("coil.within_expected", ())]
    if above < low:
        return [("coil.below_expected", ())]
    if below > high:
        return [("coil.above_expected", ())]
    return [("coil.edge_of_expected", (("within", as_text(value)),))]

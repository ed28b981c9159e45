"""A value taken with a meter or a gauge at the bench, and the strings that were on when it was taken."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from condition.records.instrument import Handedness
from condition.records.measurement import Measurement, Source

Occasion = Literal["intake", "back", "returned"]
What = Literal[
    "humidity",
    "temperature",
    "coil",
    "action",
    "relief",
    "nut slot",
    "fret height",
    "fret place",
    "string length",
    "weight",
    "other",
]
CoilState = Literal["steady", "wandering", "open", "shorted", "not this way"]
Volume = Literal["full", "not full", "none"]
Tone = Literal["not swept", "still", "moves"]
Winding = Literal["plain", "wound", "wound bronze", "other"]
Slackness = Literal["at pitch", "slack", "off"]


@dataclass(frozen=True, slots=True)
class Coil:
    """How a coil was read at the output jack; texts are as typed, numbers in ohm beside them.

    state : what the meter did; ``not this way``: a preamplifier or a piezo, which direct current does not measure
    wanders_to : how far a wandering reading goes, as typed (``open``)
    volume : of the control in parallel; ``none``: there is none, or it is out of the way
    control_typed, control_ohm : nominal value, or what was measured when ``control_measured``
    controls : how many such controls are in parallel at this switch position
    meter_percent, meter_digits : the meter's accuracy by its manual
    temperature_typed, temperature_c, temperature_within_c : of the coil; empty when the room's reading serves
    expected_typed, expected_low_ohm, expected_high_ohm : what the user expects of this coil
    """

    state: CoilState = "steady"
    wanders_to: str = ""
    volume: Volume = "full"
    control_typed: str = ""
    control_ohm: float | None = None
    control_tolerance_percent: float = 20.0
    control_measured: bool = False
    controls: int = 1
    meter_percent: float = 1.0
    meter_digits: float = 5.0
    temperature_typed: str = ""
    temperature_c: float | None = None
    temperature_within_c: float = 2.0
    tone: Tone = "not swept"
    expected_typed: str = ""
    expected_low_ohm: float | None = None
    expected_high_ohm: float | None = None


@dataclass(frozen=True, slots=True)
class Reading:
    """One value as typed, and what it comes to.

    place : the switch position of a coil, or where else it was read, in words
    string : counted from the highest, courses as one; fret : 0 is the nut
    typed : the text as it was typed; measurement : the same as a value with its ±, None for an open circuit
    corrected : a coil's own resistance at 20 °C, as far as what is known allows
    how : the way it was read, in words, when it is not the usual one
    """

    id: str
    job_id: str
    what: What
    occasion: Occasion = "intake"
    place: str = ""
    string: int | None = None
    fret: int | None = None
    typed: str = ""
    measurement: Measurement | None = None
    corrected: Measurement | None = None
    tool: Source = "gauge"
    within_typed: str = ""
    how: str = ""
    coil: Coil | None = None
    note: str = ""
    read_by: str = ""
    read_at: str = ""
    version: int = 0


@dataclass(frozen=True, slots=True)
class FittedString:
    """One string or course: number counted from the highest, note with its octave, gauge as typed and in mm."""

    number: int
    note: str = ""
    gauge_typed: str = ""
    gauge_mm: float | None = None
    winding: Winding = "plain"
    in_course: int = 1
    unit_weight_lb_in: float | None = None


def across(strings: tuple[FittedString, ...], handedness: Handedness) -> tuple[FittedString, ...]:
    """Return strings as they lie from left to right, seen from the front with the neck up (common practice)."""
    return tuple(sorted(strings, key=lambda string: string.number, reverse=handedness == "right"))


@dataclass(frozen=True, slots=True)
class StringSet:
    """The strings on the instrument at one occasion, and whether they were at pitch when the setup was read.

    unit_weight_lb_in of a string is the maker's own when it was typed; else it is taken from the trade's table.
    """

    id: str
    job_id: str
    occasion: Occasion = "intake"
    slackness: Slackness = "at pitch"
    strings: tuple[FittedString, ...] = ()
    name: str = ""
    note: str = ""
    version: int = 0

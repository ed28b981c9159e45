"""Readings at the bench: typed as they are said, kept beside the value they come to, corrected where that is sound."""

from __future__ import annotations

from dataclasses import replace

from condition.errors import Refused
from condition.flow.coil import corrected
from condition.flow.desk import Desk, new_id, utc_now
from condition.measure.coil import read_at_jack
from condition.measure.typed import typed
from condition.records.job import Job
from condition.records.measurement import Measurement, Source
from condition.records.reading import Coil, Occasion, Reading, What
from condition.trade.spoken import Said, humidity_percent, length_mm, range_ohm, resistance_ohm, temperature_c, weight_g

OCCASIONS: tuple[Occasion, ...] = ("intake", "back", "returned")
LENGTHS: tuple[What, ...] = ("action", "relief", "nut slot", "fret height", "fret place", "string length", "other")
PER_STRING: tuple[What, ...] = ("action", "nut slot")
USUAL_FRETS: dict[What, tuple[int, ...]] = {
    "action": (12,),
    "relief": (7,),
    "nut slot": (0,),
    "fret height": (1, 5, 7, 9, 12, 15),
    "fret place": (1, 5, 7, 12),
}
"""Where each is usually taken (common practice): relief midway with the string as straightedge, and so on."""

TOOLS: dict[What, Source] = {
    "humidity": "meter",
    "temperature": "meter",
    "coil": "meter",
    "weight": "meter",
    "fret place": "rule",
    "string length": "rule",
}
"""What each is usually taken with; all others with a gauge."""

USUAL_LIMITS: dict[What, float] = {"humidity": 3.0, "temperature": 0.5, "weight": 2.0}
"""Limits of error of a room hygrometer (points), a room thermometer (K) and a parcel scale (g), common practice."""

_QUANTITIES = {"humidity": ("humidity", "percent"), "temperature": ("temperature", "degC"), "weight": ("weight", "g")}


def readings_of(desk: Desk, job: Job, occasion: Occasion | None = None) -> tuple[Reading, ...]:
    """Return the job's readings in the order they were first typed."""
    return desk.store.find(Reading, job_id=job.id, **({} if occasion is None else {"occasion": occasion}))


def reading_at(
    desk: Desk,
    job: Job,
    what: What,
    occasion: Occasion,
    *,
    string: int | None = None,
    fret: int | None = None,
    place: str = "",
) -> Reading | None:
    """Return the reading of that thing at that place, None when it was not taken."""
    found = desk.store.find(Reading, job_id=job.id, what=what, occasion=occasion, place=place)
    return next((one for one in found if (one.string, one.fret) == (string, fret)), None)


def type_reading(
    desk: Desk,
    job: Job,
    what: What,
    text: str,
    *,
    occasion: Occasion = "intake",
    string: int | None = None,
    fret: int | None = None,
    place: str = "",
    **fields: object,
) -> Reading | None:
    """Keep what was typed at one place; an empty text takes the reading away again (the log keeps it).

    Raises
    ------
    Refused
        ``spoken.*``: the text is no such size.
    """
    known = reading_at(desk, job, what, occasion, string=string, fret=fret, place=place)
    if not text.strip():
        if known is not None:
            remove_reading(desk, known)
        return None
    reading = known or Reading(
        new_id(), job.id, what, occasion, place, string, fret, tool=TOOLS.get(what, "gauge"), read_by=job.examiner
    )
    if known is not None and known.typed == text.strip() and not fields:
        return known
    return keep_reading(desk, replace(reading, typed=text.strip(), read_at=utc_now(), **fields))


def type_coil(
    desk: Desk, job: Job, place: str, text: str, coil: Coil, *, occasion: Occasion = "intake", note: str = ""
) -> Reading:
    """Keep a coil's reading at a switch position, the one that is there or a new one.

    Raises
    ------
    Refused
        ``readings.no_place``; ``spoken.*``, ``coil.*``: a text or a number cannot be.
    """
    if not place.strip():
        raise Refused("readings.no_place")
    known = reading_at(desk, job, "coil", occasion, place=place.strip())
    reading = known or Reading(
        new_id(), job.id, "coil", occasion, place.strip(), tool="meter", read_by=job.examiner, read_at=utc_now()
    )
    return keep_reading(desk, replace(reading, typed=text.strip(), coil=coil, note=note))


def keep_reading(desk: Desk, reading: Reading) -> Reading:
    """Keep a reading as edited, its value and correction made anew from what was typed."""
    made = _made(reading, _room(desk, reading))
    with desk.store.write(new_id(), desk.person) as work:
        if made == work.one(Reading, id=made.id):
            return made
        kept = work.put(made)
        if kept.what == "temperature":
            for coil in work.find(Reading, job_id=kept.job_id, what="coil", occasion=kept.occasion):
                again = _made(coil, kept.measurement)
                if again != coil:
                    work.put(again)
    return kept


def remove_reading(desk: Desk, reading: Reading) -> None:
    """Take a reading off the job; :func:`condition.flow.undo.put_back` brings it back."""
    with desk.store.write(new_id(), desk.person) as work:
        work.remove(work.get(Reading, reading.id))


def _room(desk: Desk, reading: Reading) -> Measurement | None:
    if reading.what != "coil":
        return None
    found = desk.store.find(Reading, job_id=reading.job_id, what="temperature", occasion=reading.occasion)
    return found[0].measurement if found else None


def _made(reading: Reading, room: Measurement | None) -> Reading:
    if reading.what == "coil":
        return _made_coil(reading, room)
    said = _said(reading.what, reading.typed)
    limit = _within(reading)
    quantity, unit = _QUANTITIES.get(reading.what, ("distance", "mm"))
    return replace(reading, measurement=typed(quantity, said.value, unit, reading.tool, limit=limit, step=said.step))


def _said(what: What, text: str) -> Said:
    match what:
        case "humidity":
            return humidity_percent(text)
        case "temperature":
            return temperature_c(text)
        case "weight":
            return weight_g(text)
    return length_mm(text)


def _within(reading: Reading) -> float | None:
    """Limit of error: as typed for this reading, or what the tool usually has."""
    text = reading.within_typed.strip().lstrip("±").strip()
    if not text:
        return USUAL_LIMITS.get(reading.what)
    return _said(reading.what, text).value


def _made_coil(reading: Reading, room: Measurement | None) -> Reading:
    coil = reading.coil or Coil()
    control = resistance_ohm(coil.control_typed) if coil.control_typed.strip() else None
    low, high = range_ohm(coil.expected_typed) if coil.expected_typed.strip() else (None, None)
    own = temperature_c(coil.temperature_typed).value if coil.temperature_typed.strip() else None
    coil = replace(
        coil,
        control_ohm=control.value if control else None,
        expected_low_ohm=low,
        expected_high_ohm=high,
        temperature_c=own,
    )
    said = resistance_ohm(reading.typed) if reading.typed else None
    if coil.state == "steady" and reading.typed and said is None:
        coil = replace(coil, state="open")
    raw = read_at_jack(said.value, said.step, coil.meter_percent, coil.meter_digits) if said else None
    made = replace(reading, coil=coil, measurement=raw)
    step = control.step if control else 0.0
    return replace(made, corrected=corrected(made, room, step))

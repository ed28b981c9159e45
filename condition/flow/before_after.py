"""Before and after, side by side: 'changed' only beyond the ± and under like conditions."""

from __future__ import annotations

from collections.abc import Iterable

from condition.measure.budget import difference_of
from condition.records.bench_sheet import ReadingPair, Told
from condition.records.measurement import Measurement
from condition.records.reading import Occasion, Reading, StringSet, What

HUMIDITY_APART = 5.0
TEMPERATURE_APART_K = 3.0
"""Points and kelvins from which two readings of a setup are not taken under like conditions (common practice)."""

_MATTERS: dict[What, tuple[str, ...]] = {
    "action": ("humidity", "temperature", "strings", "tool"),
    "relief": ("humidity", "temperature", "strings", "tool"),
    "nut slot": ("humidity", "strings", "tool"),
    "fret height": ("tool",),
    "fret place": ("humidity", "tool"),
    "string length": ("tool",),
    "weight": ("humidity", "strings", "tool"),
    "coil": ("coil",),
    "other": ("humidity", "temperature", "strings", "tool"),
}
ORDER: tuple[What, ...] = (
    "humidity", "temperature", "coil", "action", "relief", "nut slot", "fret height", "fret place", "string length",
    "weight", "other",
)  # fmt: skip


def later_occasion(readings: Iterable[Reading]) -> Occasion:
    """The occasion to set against the intake: the return, or back from a specialist while there is no return yet."""
    seen = {reading.occasion for reading in readings}
    return "returned" if "returned" in seen or "back" not in seen else "back"


def pairs(
    readings: Iterable[Reading],
    sets: Iterable[StringSet] = (),
    earlier: Occasion = "intake",
    later: Occasion | None = None,
) -> tuple[ReadingPair, ...]:
    """Return everything read on either occasion, in the order of the bench."""
    all_of = tuple(readings)
    later = later or later_occasion(all_of)
    strings = {one.occasion: one for one in sets}
    before = {_key(one): one for one in all_of if one.occasion == earlier}
    after = {_key(one): one for one in all_of if one.occasion == later}
    keys = sorted(dict.fromkeys((*before, *after)), key=_rank)
    return tuple(
        _pair(key, before.get(key), after.get(key), (before, after), (strings.get(earlier), strings.get(later)))
        for key in keys
    )


_Key = tuple[What, str, int | None, int | None]


def _key(reading: Reading) -> _Key:
    return reading.what, reading.place, reading.string, reading.fret


def _rank(key: _Key) -> tuple:
    what, place, string, fret = key
    return ORDER.index(what), place if what != "coil" else "", fret or 0, -(string or 0)


def _pair(key: _Key, before: Reading | None, after: Reading | None, taken: tuple, strings: tuple) -> ReadingPair:
    what = key[0]
    if before is None or after is None:
        return ReadingPair(*key, before, after, verdict="only after" if before is None else "only before")
    if what in ("humidity", "temperature"):
        return ReadingPair(*key, before, after, difference_of(after.measurement, before.measurement), "condition")
    unlike = _unlike(what, before, after, taken, strings)
    if what == "coil" and before.coil.state != after.coil.state:
        return ReadingPair(*key, before, after, None, "state", unlike)
    one, other = _values(before, after)
    if one is None or other is None:
        return ReadingPair(*key, before, after, None, "open", unlike)
    difference = difference_of(other, one)
    if abs(difference.value) <= difference.expanded:
        return ReadingPair(*key, before, after, difference, "within", unlike)
    return ReadingPair(*key, before, after, difference, "unlike" if unlike else "changed", unlike)


def _values(before: Reading, after: Reading) -> tuple[Measurement | None, Measurement | None]:
    """The two values to set against each other: a coil's corrected ones, or none when only one could be corrected."""
    if before.what != "coil":
        return before.measurement, after.measurement
    return before.corrected, after.corrected


def _unlike(what: What, before: Reading, after: Reading, taken: tuple, strings: tuple) -> tuple[Told, ...]:
    told: list[Told] = []
    for matter in _MATTERS[what]:
        match matter:
            case "humidity":
                told += _room("humidity", HUMIDITY_APART, "%", taken)
            case "temperature":
                told += _room("temperature", TEMPERATURE_APART_K, "°C", taken)
            case "strings":
                told += _strings(*strings)
            case "tool" if (before.tool, before.how.strip()) != (after.tool, after.how.strip()):
                told.append(("before_after.unlike_tool", ()))
            case "coil" if before.coil.volume != after.coil.volume or before.how.strip() != after.how.strip():
                told.append(("before_after.unlike_coil", ()))
    return tuple(told)


def _room(what: What, apart: float, unit: str, taken: tuple) -> list[Told]:
    """Whether the room was the same, by the readings of it on both occasions."""
    values = [next((one.measurement.value for key, one in of.items() if key[0] == what), None) for of in taken]
    if None in values:
        return [(f"before_after.no_{what}", ())]
    if abs(values[0] - values[1]) <= apart:
        return []
    shown = tuple((name, f"{value:.3g} {unit}") for name, value in zip(("before", "after"), values, strict=True))
    return [(f"before_after.unlike_{what}", shown)]


def _strings(before: StringSet | None, after: StringSet | None) -> list[Told]:
    if before is None or after is None:
        return [("before_after.no_strings", ())]
    if before.slackness != after.slackness:
        return [("before_after.unlike_slack", ())]
    first, second = ({s.number: (s.gauge_mm, s.note.strip()) for s in of.strings} for of in (before, after))
    return [] if first == second else [("before_after.unlike_strings", ())]

"""Values printed on parts: letter codes, three-figure codes, and the old units of capacitance."""

from __future__ import annotations

import re
from functools import cache

from condition.errors import Refused
from condition.trade.colour_bands import Marked, Told
from condition.trade.tables import rows

LETTER_SOURCE = "IEC 60062, letter and digit code"
THREE_FIGURE_SOURCE = "three-figure code in pF (IEC 60062; from memory)"
OLD_UNITS_SOURCE = "old units: MFD and MF are microfarads, MMFD and MMF picofarads (from memory)"

_OHM = {"r": 1.0, "k": 1e3, "m": 1e6, "g": 1e9, "t": 1e12}
_PICO = {"p": 1.0, "n": 1e3, "µ": 1e6, "u": 1e6}
_UNITS_PF = {
    "uf": 1e6, "mfd": 1e6, "mf": 1e6, "mfds": 1e6, "nf": 1e3, "pf": 1.0, "mmfd": 1.0, "mmf": 1.0, "uuf": 1.0,
    "uufd": 1.0, "ufd": 1e6,
}  # fmt: skip
_OLD = ("mfd", "mf", "mfds", "mmfd", "mmf", "uuf", "uufd", "ufd")


def printed_resistor(text: str) -> Marked:
    """Decode such as ``4K7``, ``470R``, ``R47``, ``4M7J``: ohms, with the tolerance letter when there is one.

    Raises
    ------
    Refused
        ``codes.no_resistor_code``
    """
    plain = text.strip().lower().replace(" ", "").replace("ω", "")
    found = re.fullmatch(r"(\d*)([rkmgt])(\d*)([bcdfgjkmn]?)", plain)
    if not found or not (found[1] or found[3]):
        raise Refused("codes.no_resistor_code", text=text)
    whole, letter, rest, tolerance = found.groups()
    value = float(f"{whole or 0}.{rest or 0}") * _OHM[letter]
    return Marked(value, "ohm", _percent(tolerance), LETTER_SOURCE, notes=off_series(value))


def printed_capacitor(text: str) -> Marked:
    """Decode such as ``473K``, ``4n7``, ``.05 MFD``, ``250 MMF 400V``: picofarads.

    Raises
    ------
    Refused
        ``codes.no_capacitor_code``
    """
    plain = " ".join(text.strip().lower().replace(",", ".").replace("µ", "u").replace("μ", "u").split())
    volts = re.search(r"[\s-]*(\d+)\s*(?:w?v(?:dc|olts?)?)\b\.?", plain)
    if volts:
        plain = (plain[: volts.start()] + plain[volts.end() :]).strip()
    marked = _with_unit(plain) or _letter_code(plain) or _three_figures(plain)
    if marked is None:
        raise Refused("codes.no_capacitor_code", text=text)
    value, percent, where, notes = marked
    return Marked(value, "pF", percent, where, float(volts[1]) if volts else None, notes=(*notes, *off_series(value)))


_Read = tuple[float, tuple[float, float] | None, str, tuple[Told, ...]]


_WITH_UNIT = re.compile(r"(\d+(?:\.\d*)?|\.\d+)\s*([a-z]+)\.?(?:\s*(?:±|\+/?-)?\s*(\d+)\s*%|\s*([bcdfgjkmnz]))?")


def _with_unit(plain: str) -> _Read | None:
    found = _WITH_UNIT.fullmatch(plain)
    if not found or found[2] not in _UNITS_PF:
        return None
    number, unit, percent, letter = found.groups()
    tolerance = (float(percent), float(percent)) if percent else _percent(letter or "", float(number) * _UNITS_PF[unit])
    notes: tuple[Told, ...] = (("codes.old_unit", (("unit", unit.upper()),)),) if unit in _OLD else ()
    where = OLD_UNITS_SOURCE if unit in _OLD else LETTER_SOURCE
    return float(number) * _UNITS_PF[unit], tolerance, where, notes


def _letter_code(plain: str) -> _Read | None:
    found = re.fullmatch(r"(\d*)([pnu])(\d*)\s*([bcdfgjkmnqstz]?)", plain)
    if not found or not (found[1] or found[3]):
        return None
    whole, letter, rest, tolerance = found.groups()
    value = float(f"{whole or 0}.{rest or 0}") * _PICO[letter]
    return value, _percent(tolerance, value), LETTER_SOURCE, ()


def _three_figures(plain: str) -> _Read | None:
    found = re.fullmatch(r"([1-9]\d)(\d)\s*([bcdfgjkmnqstz]?)", plain)
    if not found:
        return None
    power = {8: -2, 9: -1}.get(int(found[2]), int(found[2]))
    value = float(found[1]) * 10.0**power
    return value, _percent(found[3], value), THREE_FIGURE_SOURCE, ()


@cache
def _letters() -> dict[str, dict[str, str]]:
    return {row["letter"].lower(): row for row in rows("tolerance_letters")}


def _percent(letter: str, picofarad: float | None = None) -> tuple[float, float] | None:
    """The tolerance letter as (minus, plus) percent; below 10 pF it is picofarads and is turned into percent."""
    if not letter:
        return None
    row = _letters()[letter]
    if picofarad is not None and picofarad < 10 and row["picofarad"]:
        share = 100.0 * float(row["picofarad"]) / picofarad
        return share, share
    return float(row["minus_percent"]), float(row["plus_percent"])


def off_series(value: float) -> tuple[Told, ...]:
    """Note a value that is no preferred one: old controls and capacitors often are not, and it is no sign of a fake."""
    if value <= 0 or is_preferred(value):
        return ()
    return (("codes.off_series", (("source", "IEC 60063:2015"),)),)


def is_preferred(value: float) -> bool:
    """Whether a value is one of the 24 or 192 preferred ones of its decade.

    Source: IEC 60063:2015; E192, which holds E48 and E96, is 10^(i/192) to two decimals but for 9.20.
    """
    figures = float(f"{value:.6e}".split("e")[0])
    return figures in _e24() or figures in _e192()


@cache
def _e24() -> frozenset[float]:
    return frozenset(float(row["value"]) for row in rows("e24"))


@cache
def _e192() -> frozenset[float]:
    values = {round(10 ** (i / 192), 2) for i in range(192)}
    return frozenset((values - {9.19}) | {9.20})

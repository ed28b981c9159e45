"""Coloured bands on resistors and capacitors, in the three orders they come in."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from typing import Literal

from condition.errors import Refused
from condition.trade.tables import rows, source

Unit = Literal["ohm", "pF"]
Told = tuple[str, tuple[tuple[str, str], ...]]
"""A catalogue code and its values."""

_ALIASES = {"gray": "grey", "purple": "violet", "nothing": "none", "no": "none"}
_RESISTOR_DIGITS = {3: 2, 4: 2, 5: 3, 6: 3}


@dataclass(frozen=True, slots=True)
class Marked:
    """What bands or a printed code stand for.

    tolerance_percent : (minus, plus), None when the marking does not say it
    tempco_ppm_per_k, volts : None when the marking does not say it
    notes : what to know besides, as catalogue codes
    """

    value: float
    unit: Unit
    tolerance_percent: tuple[float, float] | None
    source: str
    volts: float | None = None
    tempco_ppm_per_k: float | None = None
    notes: tuple[Told, ...] = ()


@cache
def _colours() -> dict[str, dict[str, str]]:
    return {row["colour"]: row for row in rows("band_colours")}


@cache
def _letters() -> dict[str, str]:
    return {row["letters"].lower(): row["colour"] for row in rows("band_colours") if row["letters"]}


def bands_of(text: str) -> tuple[str, ...]:
    """Return the colours named in a text, such as ``brown black red gold`` or ``BN BK RD GD``.

    Raises
    ------
    Refused
        ``codes.colour``: a word is no colour; ``codes.no_bands``
    """
    words = [word for word in re.split(r"[\s,;/\-–>]+", text.strip().lower()) if word and word != "band"]
    bands = []
    for word in words:
        colour = _letters().get(word, _ALIASES.get(word, word))
        if colour not in _colours():
            raise Refused("codes.colour", word=word)
        bands.append(colour)
    if not bands:
        raise Refused("codes.no_bands")
    return tuple(bands)


def resistor(text: str) -> Marked:
    """Decode a resistor's bands: three to six, or one black one.

    Raises
    ------
    Refused
        The bands cannot be a resistor's; the sentence says why.
    """
    bands = bands_of(text)
    if bands == ("black",):
        return Marked(0.0, "ohm", None, source("band_colours"), notes=(("codes.link", ()),))
    if len(bands) == 4 and bands[3] == "none":
        bands = bands[:3]
    if len(bands) not in _RESISTOR_DIGITS:
        raise Refused("codes.band_count", count=str(len(bands)), wanted="3, 4, 5, 6")
    marked = _resistor(bands)
    try:
        other = _resistor(bands[::-1]) if len(bands) > 3 else None
    except Refused:
        other = None
    notes: list[Told] = []
    if other is not None and other.value != marked.value:
        notes.append(("codes.other_way", (("ohm", f"{other.value:.6g}"),)))
    if len(bands) > 4 and bands[4] == "grey":
        notes.append(("codes.grey_tolerance", ()))
    return Marked(
        marked.value,
        "ohm",
        marked.tolerance_percent,
        marked.source,
        tempco_ppm_per_k=marked.tempco_ppm_per_k,
        notes=tuple(notes),
    )


def _resistor(bands: tuple[str, ...]) -> Marked:
    digits = _RESISTOR_DIGITS[len(bands)]
    value = _figures(bands[:digits]) * _multiplier(bands[digits])
    tolerance = _tolerance(bands[digits + 1]) if len(bands) > 3 else 20.0
    tempco = None
    if len(bands) == 6:
        told = _colours()[bands[5]]["tempco_ppm_per_k"]
        if not told:
            raise Refused("codes.not_here", colour=bands[5], place="6")
        tempco = float(told)
    percent = None if tolerance is None else (tolerance, tolerance)
    return Marked(value, "ohm", percent, source("band_colours"), tempco_ppm_per_k=tempco)


def moulded_paper(text: str) -> Marked:
    """Decode a moulded paper capacitor of the older RMA/EIA order: two figures, multiplier (picofarads), tolerance,
    then the voltage in hundreds by one or two figures.

    Raises
    ------
    Refused
        The bands cannot be that; the sentence says why.
    """
    bands = bands_of(text)
    if len(bands) not in (3, 4, 5, 6):
        raise Refused("codes.band_count", count=str(len(bands)), wanted="3, 4, 5, 6")
    volts = 100.0 * _figures(bands[4:], leading_zero=True) if len(bands) > 4 else None
    if volts == 0:
        raise Refused("codes.not_here", colour=bands[4], place="5")
    return _capacitor(bands, "moulded_paper_bands", volts, (("codes.old_paper", ()),))


def film(text: str) -> Marked:
    """Decode a film capacitor of the later five-band order: two figures, multiplier (pF), tolerance, voltage.

    Raises
    ------
    Refused
        The bands cannot be that; the sentence says why.
    """
    bands = bands_of(text)
    if len(bands) not in (3, 4, 5):
        raise Refused("codes.band_count", count=str(len(bands)), wanted="3, 4, 5")
    volts = None
    if len(bands) == 5:
        told = _capacitor_rows("film_bands").get(bands[4], {}).get("volts")
        if not told:
            raise Refused("codes.not_here", colour=bands[4], place="5")
        volts = float(told)
    return _capacitor(bands, "film_bands", volts, ())


def _capacitor(bands: tuple[str, ...], order: str, volts: float | None, notes: tuple[Told, ...]) -> Marked:
    value = _figures(bands[:2]) * _multiplier(bands[2])
    tolerance = None
    if len(bands) > 3:
        told = _capacitor_rows(order).get(bands[3], {}).get("tolerance_percent")
        if not told:
            raise Refused("codes.not_here", colour=bands[3], place="4")
        tolerance = (float(told), float(told))
    return Marked(value, "pF", tolerance, source(order).rstrip("."), volts, notes=notes)


@cache
def _capacitor_rows(order: str) -> dict[str, dict[str, str]]:
    return {row["colour"]: row for row in rows(order)}


def _figures(bands: tuple[str, ...], *, leading_zero: bool = False) -> int:
    told = [_colours()[band]["digit"] for band in bands]
    for place, (band, digit) in enumerate(zip(bands, told, strict=True), 1):
        if not digit:
            raise Refused("codes.no_figure", colour=band, place=str(place))
    if told[0] == "0" and not leading_zero:
        raise Refused("codes.begins_black")
    return int("".join(told))


def _multiplier(band: str) -> float:
    told = _colours()[band]["multiplier"]
    if not told:
        raise Refused("codes.no_multiplier", colour=band)
    return float(told)


def _tolerance(band: str) -> float | None:
    """Percent; None for grey, on which the sources disagree."""
    told = _colours()[band]["tolerance_percent"]
    if not told and band != "grey":
        raise Refused("codes.not_here", colour=band, place="tolerance")
    return float(told) if told else None

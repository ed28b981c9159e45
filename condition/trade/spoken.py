"""Sizes as they are said and typed at the bench: millimetres, inch fractions, thousandths; ohms; grams; degrees."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from condition.errors import Refused

INCH_MM = 25.4
OUNCE_G, POUND_G = 28.349523125, 453.59237
"""Source: the international yard and pound (1959), exact."""

_NUMBER = r"(\d+(?:\.\d*)?|\.\d+)"
_MIXED = re.compile(r"(?:(\d+)[\s-]+)?(\d+)\s*/\s*(\d+)")
_INCH = r'(?:"|″|”|\'\'|in(?:ch(?:es)?)?\.?)'
_THOU = r"(?:thou(?:sandths?)?|mils?)"
_LENGTHS = (
    (rf"{_NUMBER}\s*(?:mm)?", 1.0),
    (rf"{_NUMBER}\s*cm", 10.0),
    (rf"{_NUMBER}\s*{_INCH}", INCH_MM),
    (rf"{_NUMBER}\s*{_THOU}", INCH_MM / 1000),
)
_WEIGHTS = (
    (rf"{_NUMBER}\s*g?", 1.0),
    (rf"{_NUMBER}\s*kg", 1000.0),
    (rf"{_NUMBER}\s*oz", OUNCE_G),
    (rf"{_NUMBER}\s*lbs?", POUND_G),
)
_OPEN = re.compile(r"(?:o\.?l\.?|open|inf(?:inite)?|∞|over(?:load)?)", re.IGNORECASE)
_OHM_UNITS = {"": 1.0, "r": 1.0, "k": 1e3, "m": 1e6}


@dataclass(frozen=True, slots=True)
class Said:
    """value in the unit asked for; step : the place it was read to, same unit"""

    value: float
    step: float


def length_mm(text: str) -> Said:
    """Read a length: ``3.4 mm``, ``3,4``, ``3/32 in``, ``1 1/8"``, ``0.118"``, ``118 thou``, ``.012 in``, ``53 cm``.

    Without a unit it is millimetres.

    Raises
    ------
    Refused
        ``spoken.length``
    """
    plain = _plain(text)
    fraction = re.fullmatch(rf"{_MIXED.pattern}\s*(?:ths?)?\s*{_INCH}?", plain)
    if fraction:
        whole, top, bottom = fraction.groups()
        if int(bottom):
            value = int(whole or 0) + Fraction(int(top), int(bottom))
            return Said(float(value) * INCH_MM, INCH_MM / int(bottom))
    for pattern, unit in _LENGTHS:
        found = re.fullmatch(pattern, plain)
        if found:
            return _said(found[1], unit)
    raise Refused("spoken.length", text=text)


def resistance_ohm(text: str) -> Said | None:
    """Read a resistance: ``6.82 k``, ``6,82 kΩ``, ``6k82``, ``6820``, ``470 ohm``; None for ``OL`` or ``open``.

    Raises
    ------
    Refused
        ``spoken.resistance``; ``spoken.which_ohm``: a small number without unit may be ohms or kilohms.
    """
    plain = _plain(text)
    if _OPEN.fullmatch(plain):
        return None
    plain = re.sub(r"(?:ohms?|ω|Ω)$", "r", plain.replace("ω", "Ω")).replace(" ", "")
    plain = re.sub(r"(?<=[km])r$", "", plain)
    between = re.fullmatch(r"(\d+)([rkm])(\d+)", plain)
    if between:
        whole, letter, rest = between.groups()
        return _said(f"{whole}.{rest}", _OHM_UNITS[letter])
    found = re.fullmatch(rf"{_NUMBER}([rkm]?)(?:eg)?", plain)
    if not found:
        raise Refused("spoken.resistance", text=text)
    number, letter = found.groups()
    if not letter and float(number) and (float(number) < 1000 or "." in number):
        raise Refused("spoken.which_ohm", text=text.strip())
    return _said(number, _OHM_UNITS[letter])


def range_ohm(text: str) -> tuple[float, float]:
    """Read a range such as ``6.5-7.5 k`` or ``6.5 k to 7.5 k``; the first number takes the second one's unit.

    Raises
    ------
    Refused
        ``spoken.range``
    """
    parts = re.split(r"\s*(?:-|–|…|\.\.\.?|to|bis)\s*", text.strip(), flags=re.IGNORECASE)
    if len(parts) != 2 or not all(parts):
        raise Refused("spoken.range", text=text)
    try:
        high = resistance_ohm(parts[1])
        unit = re.search(r"([a-zΩω]+)\s*$", parts[1], re.IGNORECASE)
        first = parts[0] if re.search(r"[a-zΩω]", parts[0], re.IGNORECASE) or not unit else parts[0] + unit[1]
        low = resistance_ohm(first)
    except Refused as refusal:
        raise Refused("spoken.range", text=text) from refusal
    if low is None or high is None or not 0 <= low.value < high.value:
        raise Refused("spoken.range", text=text)
    return low.value, high.value


def weight_g(text: str) -> Said:
    """Read a weight: ``812 g``, ``1.2 kg``, ``2 lb 3 oz``; without a unit it is grams.

    Raises
    ------
    Refused
        ``spoken.weight``
    """
    plain = _plain(text)
    for pattern, unit in _WEIGHTS:
        found = re.fullmatch(pattern, plain)
        if found:
            return _said(found[1], unit)
    both = re.fullmatch(rf"(\d+)\s*lbs?\s*{_NUMBER}\s*oz", plain)
    if both:
        ounces = _said(both[2], OUNCE_G)
        return Said(int(both[1]) * POUND_G + ounces.value, ounces.step)
    raise Refused("spoken.weight", text=text)


def temperature_c(text: str) -> Said:
    """Read a temperature: ``20.5``, ``20.5 °C``, ``69 F``; without a unit it is degrees Celsius.

    Raises
    ------
    Refused
        ``spoken.temperature``
    """
    plain = _plain(text).replace("°", "").replace("deg", "")
    found = re.fullmatch(rf"(-?){_NUMBER}\s*([cf]?)", plain)
    if not found:
        raise Refused("spoken.temperature", text=text)
    said = _said(found[2], 1.0)
    value = -said.value if found[1] else said.value
    read = Said((value - 32) / 1.8, said.step / 1.8) if found[3] == "f" else Said(value, said.step)
    if not -40 <= read.value <= 80:
        raise Refused("spoken.temperature", text=text)
    return read


def humidity_percent(text: str) -> Said:
    """Read a relative humidity: ``31``, ``31 %``, ``31 % RH``.

    Raises
    ------
    Refused
        ``spoken.humidity``
    """
    found = re.fullmatch(rf"{_NUMBER}\s*%?\s*(?:rh|r\.h\.)?", _plain(text))
    if not found or float(found[1]) > 100:
        raise Refused("spoken.humidity", text=text)
    return _said(found[1], 1.0)


def _plain(text: str) -> str:
    """Small letters, decimal comma to point, spaces joined."""
    text = re.sub(r"(?<=\d),(?=\d)", ".", text.strip().lower()).replace("\u00a0", " ")
    return " ".join(text.split())


def _said(number: str, unit: float) -> Said:
    places = len(number.split(".")[1]) if "." in number else 0
    return Said(float(number) * unit, unit * 10.0**-places)

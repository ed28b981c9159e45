"""A measured value with its expanded uncertainty, the parts it is made of, and how it came."""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_HALF_EVEN, Decimal
from typing import Literal

from condition.errors import InvalidRecord

Quantity = Literal[
    "length",
    "width",
    "widest",
    "diameter",
    "ovality",
    "area",
    "share",
    "distance",
    "depth",
    "count",
    "resistance",
    "weight",
    "humidity",
    "temperature",
    "pull",
]
Source = Literal["photo", "calliper", "rule", "gauge", "meter", "count"]
Bound = Literal["below"]

COVERAGE_K = 2.0
"""Coverage factor of every expanded uncertainty here: about 95 % (JCGM 100:2008, 6.3.3 and G.6.6)."""


@dataclass(frozen=True, slots=True)
class Contribution:
    """One part of an uncertainty budget.

    name : catalogue code of the part, such as ``corners``, ``card side``, ``height``, ``lens``, ``pick``
    standard : standard uncertainty it brings, in the measurement's unit; signed when shared, so that two
        measurements of one photo can be combined (JCGM 100:2008, 5.2)
    shared : the same error enters every measurement of the photo
    column : which of the name's independent errors this is: shared parts of two measurements of one photo with the
        same name and column are one error
    """

    name: str
    standard: float
    shared: bool = False
    column: int = 0


@dataclass(frozen=True, slots=True)
class Measurement:
    """value ± expanded (k = 2) in ``unit``; with ``bound`` the value is a limit ('narrower than') and has no ±.

    Raises
    ------
    InvalidRecord
        The value is not finite or the uncertainty negative.
    """

    quantity: Quantity
    value: float
    unit: str
    expanded: float
    source: Source
    method: str = ""
    bound: Bound | None = None
    parts: tuple[Contribution, ...] = ()
    photo_id: str | None = None
    note: str = ""

    def __post_init__(self) -> None:
        if not (math.isfinite(self.value) and math.isfinite(self.expanded) and self.expanded >= 0):
            raise InvalidRecord("measurement", f"{self.value} ± {self.expanded}")


def rounded(value: float, expanded: float) -> tuple[str, str]:
    """Round value and uncertainty for print: two significant digits of uncertainty, the value to the same place.

    Source: JCGM 100:2008, 7.2.6.
    """
    if expanded <= 0:
        return f"{value:g}", "0"
    uncertainty = Decimal(expanded)
    step = Decimal(1).scaleb(uncertainty.adjusted() - 1)
    shown = uncertainty.quantize(step, ROUND_HALF_EVEN)
    if shown.adjusted() > uncertainty.adjusted():
        step = step.scaleb(1)
        shown = uncertainty.quantize(step, ROUND_HALF_EVEN)
    return _plain(Decimal(value).quantize(step, ROUND_HALF_EVEN)), _plain(shown)


def _plain(number: Decimal) -> str:
    text = format(number, "f")
    return text[1:] if text.startswith("-") and not number else text


_UNIT_WORDS = {"mm2": "mm²", "cm2": "cm²", "percent": "%", "ohm": "Ω", "degC": "°C"}


def unit_word(unit: str) -> str:
    """Return a unit as it is printed, such as ``mm²`` for ``mm2``."""
    return _UNIT_WORDS.get(unit, unit)


def as_text(measurement: Measurement) -> str:
    """Return such as ``148.2 ± 0.9 mm``, ``< 0.35 mm``, ``14.06 ± 0.31 cm²`` (from 1 cm² up) or ``6.82 ± 0.12 kΩ``."""
    value, expanded, unit = measurement.value, measurement.expanded, measurement.unit
    if unit == "mm2" and abs(value) >= 100:
        value, expanded, unit = value / 100, expanded / 100, "cm2"
    if unit == "ohm" and abs(value) >= 1000:
        value, expanded, unit = value / 1000, expanded / 1000, "kΩ"
    sign = unit_word(unit)
    if measurement.bound == "below":
        limit = Decimal(f"{value:.6g}")
        digits = limit.quantize(Decimal(1).scaleb(limit.adjusted() - 1), ROUND_CEILING) if limit else Decimal(0)
        return f"< {_plain(digits)} {sign}".rstrip()
    shown, shown_expanded = rounded(value, expanded)
    if expanded == 0:
        return f"{shown} {sign}".rstrip()
    return f"{shown} ± {shown_expanded} {sign}".rstrip()


def as_json(measurement: Measurement) -> dict:
    """Return the command line's form: value, expanded, unit, and bound and source where they apply."""
    values: dict[str, object] = {
        "value": measurement.value,
        "expanded": measurement.expanded,
        "unit": measurement.unit,
        "source": measurement.source,
    }
    if measurement.bound:
        values["bound"] = measurement.bound
    return values

"""How much of a price's unit a finding comes to: its holes counted, its crack in cm, its loss in cm²."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from condition.flow.desk import Desk
from condition.flow.findings import measurements_of
from condition.records.finding import Finding
from condition.records.mark import Mark
from condition.records.measurement import Measurement, as_text
from condition.records.money import PriceUnit

COUNTED: tuple[PriceUnit, ...] = ("hole", "fret", "string", "each")
STEP = Decimal("0.1")
"""Lengths and areas are charged to a tenth of a centimetre or square centimetre."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """quantity : in the price's unit; measured : the measurement as print has it; quantity_code : what it was"""

    quantity: Decimal
    measured: str
    quantity_code: str


def measured_quantity(desk: Desk, finding: Finding, unit: PriceUnit) -> Quantity | None:
    """Return what a finding comes to in a unit, None when nothing measured says so (an hour, a flat price).

    Counts come from a count, else from the number of the finding's marks; a limit ('narrower than') is no quantity.
    """
    sure = [one for one in measurements_of(desk, finding) if one.bound is None]
    match unit:
        case "cm":
            return _scaled(_first(sure, "length"), Decimal(10))
        case "cm2":
            return _scaled(_first(sure, "area"), Decimal(100))
        case "hole" | "fret" | "string" | "each":
            count = _first(sure, "count")
            if count is not None:
                return Quantity(Decimal(round(count.value)), as_text(count), "count")
            marks = _marks_on_one_photo(desk, finding)
            return Quantity(Decimal(marks), str(marks), "count") if marks else None
        case _:
            return None


def _first(measurements: list[Measurement], quantity: str) -> Measurement | None:
    return next((one for one in measurements if one.quantity == quantity), None)


def _scaled(one: Measurement | None, per_unit: Decimal) -> Quantity | None:
    if one is None or one.unit not in ("mm", "mm2"):
        return None
    value = (Decimal(repr(one.value)) / per_unit).quantize(STEP, ROUND_HALF_UP)
    return Quantity(value, as_text(one), one.quantity)


def _marks_on_one_photo(desk: Desk, finding: Finding) -> int:
    """The same holes may be marked on several photos: the photo that shows the most counts."""
    marks = desk.store.find(Mark, finding_id=finding.id)
    return max((sum(1 for one in marks if one.photo_id == photo) for photo in {m.photo_id for m in marks}), default=0)

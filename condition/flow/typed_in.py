"""What was read off an instrument: kept with the instrument's own accuracy, and held against what the photo says."""

from __future__ import annotations

from collections.abc import Sequence

from condition.errors import Refused
from condition.flow.desk import Desk
from condition.flow.findings import type_measurement
from condition.measure.combine import NOTE, agree
from condition.measure.typed import typed, usual_limit
from condition.records.finding import Finding
from condition.records.measurement import Measurement, Quantity, Source

DISAGREE = NOTE
"""Note of a measurement for which two photos differ by more than their ±."""

__all__ = ["DISAGREE", "apart", "type_value", "usual_limit"]


def type_value(
    desk: Desk,
    finding: Finding,
    quantity: Quantity,
    value: float,
    unit: str,
    source: Source,
    limit: float | None,
    *,
    overrules: bool,
) -> Finding:
    """Keep a value read off an instrument; ``limit`` is the instrument's limit of error, which makes the ±.

    Raises
    ------
    Refused
        The value or the limit is not a number that can be; ``measure.typed_limit`` where no usual one is known.
    """
    if unit != "mm" and quantity != "count" and not limit:
        raise Refused("measure.typed_limit")
    return type_measurement(desk, finding, typed(quantity, value, unit, source, limit), overrules=overrules)


def apart(measurements: Sequence[Measurement]) -> tuple[tuple[Measurement, Measurement], ...]:
    """Return each typed measurement with the photo's of the same quantity where they differ by more than their ±."""

    def comparable(one: Measurement, other: Measurement) -> bool:
        same = (one.quantity, one.unit) == (other.quantity, other.unit)
        return same and one.bound is None and other.bound is None and one.quantity != "count"

    read = [one for one in measurements if one.source != "photo"]
    seen = [one for one in measurements if one.source == "photo"]
    return tuple((one, other) for one in read for other in seen if comparable(one, other) and not agree((one, other)))

"""A measurement typed from calliper, rule, gauge or meter: its own accuracy makes its ±."""

from __future__ import annotations

import math

from condition.errors import Refused
from condition.records.measurement import COVERAGE_K, Contribution, Measurement, Quantity, Source

STEPS_MM: dict[str, tuple[float, float]] = {
    "calliper": (0.01, 0.03),
    "rule": (0.5, 0.2),
    "gauge": (0.01, 0.03),
}
"""Display step and limit of error in mm of common instruments: DIN 862 callipers 0.03 mm over 100 mm (from memory);
rules read to half a millimetre, gauges as callipers (common practice)."""


def usual_limit(source: Source) -> float:
    """Limit of error in mm that an instrument in good order keeps; 0 for a count."""
    return STEPS_MM.get(source, (0.0, 0.0))[1]


def typed(
    quantity: Quantity,
    value: float,
    unit: str,
    source: Source,
    limit: float | None = None,
    step: float | None = None,
    note: str = "",
) -> Measurement:
    """A typed value with an uncertainty from the instrument.

    Parameters
    ----------
    limit : limit of error of the instrument, rectangular, in `unit` (JCGM 100:2008, 4.3.7)
    step : smallest step it shows, in `unit` (F.2.2.1); both default to those of the instrument for mm

    Raises
    ------
    Refused
        The value, limit or step is not a number a length can have.
    """
    known_step, known_limit = STEPS_MM.get(source, (0.0, 0.0)) if unit == "mm" else (0.0, 0.0)
    step = known_step if step is None else step
    limit = known_limit if limit is None else limit
    if not (math.isfinite(value) and value >= 0):
        raise Refused("measure.typed_value")
    if not (math.isfinite(limit) and math.isfinite(step) and limit >= 0 and step >= 0):
        raise Refused("measure.typed_accuracy")
    parts = (
        Contribution("instrument", limit / math.sqrt(3)),
        Contribution("display step", step / math.sqrt(12)),
    )
    expanded = COVERAGE_K * math.sqrt(sum(p.standard**2 for p in parts))
    return Measurement(quantity, value, unit, expanded, source, "typed", None, parts, None, note)

"""Several marks of one finding on one photo: holes counted, lengths and areas added up."""

from __future__ import annotations

from collections.abc import Sequence

from condition.measure.budget import linear, sum_of
from condition.records.measurement import Measurement

ADDED = ("length", "area")
AVERAGED = ("diameter",)


def tally(per_mark: Sequence[tuple[Measurement, ...]]) -> tuple[Measurement, ...]:
    """Return what the marks of one photo say together.

    One mark's measurements pass through. Of several, lengths and areas are summed with their shared errors joined
    (JCGM 100:2008, 5.2), diameters are averaged and counted; what else they say belongs to each mark alone.
    """
    if len(per_mark) == 1:
        return tuple(per_mark[0])
    groups: dict[str, list[Measurement]] = {}
    for measurement in (m for mark in per_mark for m in mark if m.bound is None):
        groups.setdefault(measurement.quantity, []).append(measurement)
    told: list[Measurement] = []
    for quantity, group in groups.items():
        if quantity in ADDED:
            told.append(sum_of(group))
        elif quantity in AVERAGED:
            told.append(Measurement("count", len(group), "", 0.0, "photo", "counted", photo_id=group[0].photo_id))
            told.append(mean_of(group))
    return tuple(told)


def mean_of(group: Sequence[Measurement]) -> Measurement:
    """Return the mean of measurements of one quantity and unit."""
    share = 1.0 / len(group)
    value = share * sum(m.value for m in group)
    return linear([(share, m) for m in group], group[0].quantity, group[0].unit, value, "mean of several")

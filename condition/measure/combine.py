"""One finding seen several times: the photos' measurements weighted into one, and whether they agree."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from condition.measure.budget import linear
from condition.records.measurement import COVERAGE_K, Measurement

DISAGREEMENT = 3.0
"""Difference over its standard uncertainty from which two measurements are said to disagree: 0.3 % by chance."""
NOTE = "disagree"


def combine(per_mark: Sequence[tuple[Measurement, ...]]) -> tuple[Measurement, ...]:
    """Combine what several marks of one finding say, quantity by quantity, in the order they first come up.

    One mark's measurements pass through. Several are weighted by 1 / u2; when they disagree by more than their
    uncertainties allow the result carries the note ``disagree`` and a ± that reaches over all of them. A value and a
    bound: the value stands. Bounds only: the lowest.
    """
    if len(per_mark) == 1:
        return tuple(per_mark[0])
    order: list[tuple[str, str]] = []
    groups: dict[tuple[str, str], list[Measurement]] = {}
    for measurement in (m for mark in per_mark for m in mark):
        key = (measurement.quantity, measurement.unit)
        if key not in groups:
            order.append(key)
        groups.setdefault(key, []).append(measurement)
    return tuple(weighted(groups[key]) for key in order)


def weighted(seen: Sequence[Measurement]) -> Measurement:
    """The weighted mean of measurements of one thing (JCGM 100:2008, 5.1 with weights 1 / u2)."""
    values = [m for m in seen if m.bound is None]
    if not values:
        return min(seen, key=lambda m: m.value)
    if len(values) == 1:
        return values[0]
    exact = [m for m in values if m.expanded == 0]
    if exact:
        return exact[0]
    weights = [1 / m.expanded**2 for m in values]
    total = sum(weights)
    factors = [w / total for w in weights]
    mean = sum(f * m.value for f, m in zip(factors, values, strict=True))
    first = values[0]
    joined = linear(
        list(zip(factors, values, strict=True)),
        first.quantity,
        first.unit,
        mean,
        f"{first.method}, weighted".strip(", "),
    )
    if not agree(values):
        reach = max(abs(m.value - mean) for m in values)
        return replace(joined, expanded=max(joined.expanded, reach), note=NOTE)
    return joined


def agree(values: Sequence[Measurement]) -> bool:
    """Whether every two measurements differ by less than their standard uncertainties allow."""
    pairs = [(a, b) for i, a in enumerate(values) for b in values[i + 1 :]]
    for a, b in pairs:
        apart = linear([(1.0, a), (-1.0, b)], a.quantity, a.unit, a.value - b.value, "difference")
        standard = apart.expanded / COVERAGE_K
        if abs(apart.value) > DISAGREEMENT * max(standard, 1e-12 * math.hypot(a.value, b.value)):
            return False
    return True

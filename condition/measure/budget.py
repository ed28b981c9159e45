"""The uncertainty budget: from the photo's plane and a mark's own errors to one expanded uncertainty, and onward.

First-order propagation with numerical sensitivities (JCGM 100:2008, 5.1.2 and 5.1.3 note 2); errors shared by several
measurements of one photo keep their sign and their column, so that sums, differences and ratios combine them as the
correlated quantities they are (5.2.2).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from condition.imaging.plane import parameter_values
from condition.records.measurement import COVERAGE_K, Contribution, Measurement, Quantity
from condition.records.plane import PhotoPlane

Valued = Callable[[np.ndarray], np.ndarray]
"""From vectors of plane parameters (V, P) to the measured values (V,)."""


def shared_parts(valued: Valued, plane: PhotoPlane) -> tuple[float, tuple[Contribution, ...]]:
    """The value at the plane's parameters, and what each of the plane's error sources does to it (signed)."""
    vector = parameter_values(plane)
    names = [(name, k) for name, block in plane.sources for k in range(len(block))]
    columns = np.array([column for _, block in plane.sources for column in block]).reshape(len(names), len(vector))
    spread = np.sqrt((columns**2).sum(0))
    moving = np.flatnonzero(spread)
    steps = 0.1 * np.diag(spread)[moving]
    values = np.asarray(valued(np.vstack([vector[None], vector + steps, vector - steps])), float)
    ahead, behind = values[1 : 1 + len(moving)], values[1 + len(moving) :]
    slope = (ahead - behind) / (0.2 * spread[moving])
    effects = columns[:, moving] @ slope
    parts = tuple(Contribution(name, float(effect), True, k) for (name, k), effect in zip(names, effects, strict=True))
    return float(values[0]), parts


def combined(parts: Sequence[Contribution]) -> float:
    """Combined standard uncertainty: the root sum of squares (JCGM 100:2008, equation 10)."""
    return math.sqrt(sum(part.standard**2 for part in parts))


def by_source(parts: Sequence[Contribution]) -> tuple[tuple[str, float], ...]:
    """(source, standard uncertainty) with the columns of a source joined, the largest first: the budget's table."""
    squares: dict[str, float] = {}
    for part in parts:
        squares[part.name] = squares.get(part.name, 0.0) + part.standard**2
    return tuple(sorted(((name, math.sqrt(s)) for name, s in squares.items() if s > 0), key=lambda row: -row[1]))


def measured(
    quantity: Quantity,
    value: float,
    unit: str,
    parts: Sequence[Contribution],
    photo_id: str | None = None,
    method: str = "",
    note: str = "",
) -> Measurement:
    """A photo measurement whose ± follows from its parts."""
    return Measurement(
        quantity, float(value), unit, COVERAGE_K * combined(parts), "photo", method, None, tuple(parts), photo_id, note
    )


def _keyed(measurement: Measurement, number: int) -> dict[tuple, Contribution]:
    """Parts by the error they stem from: shared ones by photo, name and column; others belong to this one alone."""
    keyed: dict[tuple, Contribution] = {}
    parts = measurement.parts or (Contribution("stated", measurement.expanded / COVERAGE_K),)
    for place, part in enumerate(parts):
        owner = ("photo", measurement.photo_id) if part.shared else ("own", number, place)
        keyed[(owner, part.name, part.column)] = part
    return keyed


def linear(
    terms: Sequence[tuple[float, Measurement]], quantity: Quantity, unit: str, value: float, method: str
) -> Measurement:
    """A value that changes by the given factors with each measurement, errors they share joined before squaring."""
    joined: dict[tuple, float] = {}
    named: dict[tuple, Contribution] = {}
    for number, (factor, measurement) in enumerate(terms):
        for key, part in _keyed(measurement, number).items():
            joined[key] = joined.get(key, 0.0) + factor * part.standard
            named[key] = part
    parts = tuple(replace(named[key], standard=standard) for key, standard in joined.items())
    photos = {measurement.photo_id for _, measurement in terms}
    photo = photos.pop() if len(photos) == 1 else None
    if photo is None:
        parts = tuple(replace(part, shared=False) for part in parts)
    sources = {measurement.source for _, measurement in terms}
    source = sources.pop() if len(sources) == 1 else "photo"
    return Measurement(quantity, value, unit, COVERAGE_K * combined(parts), source, method, None, parts, photo)


def sum_of(measurements: Sequence[Measurement]) -> Measurement:
    """The sum of measurements of one quantity and unit, such as all areas of one photo."""
    first = measurements[0]
    value = sum(m.value for m in measurements)
    return linear([(1.0, m) for m in measurements], first.quantity, first.unit, value, "sum")


def difference_of(after: Measurement, before: Measurement) -> Measurement:
    """after - before: on one photo's scale the scale's error enters with the difference only."""
    return linear([(1.0, after), (-1.0, before)], after.quantity, after.unit, after.value - before.value, "difference")


def ratio_of(part: Measurement, whole: Measurement) -> Measurement:
    """part / whole in percent; a scale error both share falls out."""
    share = 100.0 * part.value / whole.value
    return linear([(100.0 / whole.value, part), (-share / whole.value, whole)], "share", "percent", share, "ratio")


def effective_freedom(parts: Sequence[tuple[float, float]]) -> float:
    """Welch-Satterthwaite from (standard uncertainty, degrees of freedom) pairs (JCGM 100:2008, G.4.1)."""
    total = sum(u**2 for u, _ in parts)
    weak = sum(u**4 / freedom for u, freedom in parts if math.isfinite(freedom))
    return total**2 / weak if weak else math.inf

"""A coil read at the output jack, step by step to its own resistance at 20 °C: each step with its part of the ±."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from condition.measure.budget import combined
from condition.records.measurement import COVERAGE_K, Contribution, Measurement
from condition.trade.copper import ALPHA_PER_K, FINE_WIRE_LIMIT_PER_K, REFERENCE_C, warmth
from condition.trade.loading import sensitivities, unloaded
from condition.trade.meter import standard_uncertainty

METHOD = "coil 1"


@dataclass(frozen=True, slots=True)
class Beside:
    """What lies in parallel with the coil: ohm and its standard uncertainty, ohm."""

    ohm: float
    standard_ohm: float


def nominal_control(ohm: float, tolerance_percent: float, controls: int = 1) -> Beside:
    """A control known by its nominal value: its tolerance is rectangular (JCGM 100:2008, 4.3.7).

    controls : that many equal ones in parallel, each off by its own
    """
    one = ohm * tolerance_percent / 100.0 / math.sqrt(3.0)
    return Beside(ohm / controls, one / controls / math.sqrt(controls))


def measured_control(ohm: float, meter_standard_ohm: float, controls: int = 1) -> Beside:
    """A control that was measured: one meter reads all alike, so its error is shared."""
    return Beside(ohm / controls, meter_standard_ohm / controls)


def read_at_jack(ohm: float, resolution_ohm: float, percent: float, digits: float) -> Measurement:
    """What the meter showed, with the meter's own ±.

    Raises
    ------
    Refused
        ``coil.meter``
    """
    part = Contribution("meter", standard_uncertainty(ohm, percent, digits, resolution_ohm))
    return Measurement("resistance", ohm, "ohm", COVERAGE_K * part.standard, "meter", "meter", parts=(part,))


def without_control(read: Measurement, beside: Beside) -> Measurement:
    """The coil by itself, the control in parallel taken out by reckoning.

    Raises
    ------
    Refused
        ``coil.above_control``
    """
    coil = unloaded(read.value, beside.ohm)
    by_read, by_control = sensitivities(read.value, beside.ohm)
    parts = (
        *(replace(part, standard=by_read * part.standard) for part in read.parts),
        Contribution("volume control", by_control * beside.standard_ohm),
    )
    return _made(coil, parts)


def at_20_degrees(
    coil: Measurement, temperature_c: float, standard_c: float, alpha_limit_per_k: float = FINE_WIRE_LIMIT_PER_K
) -> Measurement:
    """The coil's resistance at 20 °C.

    standard_c : standard uncertainty of the temperature, K
    alpha_limit_per_k : how far off the wire's coefficient may be; rectangular
    """
    factor = warmth(temperature_c)
    value = coil.value / factor
    alpha = alpha_limit_per_k / math.sqrt(3.0)
    parts = (
        *(replace(part, standard=part.standard / factor) for part in coil.parts),
        Contribution("temperature", value * ALPHA_PER_K / factor * standard_c),
        Contribution("wire", value * abs(temperature_c - REFERENCE_C) / factor * alpha),
    )
    return _made(value, tuple(part for part in parts if part.standard))


def _made(value: float, parts: tuple[Contribution, ...]) -> Measurement:
    return Measurement("resistance", value, "ohm", COVERAGE_K * combined(parts), "meter", METHOD, parts=parts)

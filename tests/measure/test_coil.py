"""A coil through the jack against the reference's whole chain (EL-31, EL-32), and against uncertainties."""

from __future__ import annotations

import math

import pytest
from uncertainties import ufloat

from condition.errors import Refused
from condition.measure.coil import at_20_degrees, measured_control, nominal_control, read_at_jack, without_control
from condition.records.measurement import as_text


def test_the_whole_chain():
    """EL-32: 7750 ohm (0.8 % + 3 digits of 10 ohm), 250 k +- 20 %, 23 +- 2 °C comes to 7.90 +- 0.18 kilohm."""
    read = read_at_jack(7750, 10, 0.8, 3)
    assert read.parts[0].standard == pytest.approx(53.12, abs=6e-3)
    coil = without_control(read, nominal_control(250e3, 20))
    assert coil.expanded / 2 == pytest.approx(63.08 * (1 + 0.00393 * 3), abs=6e-3)
    found = at_20_degrees(coil, 23, 2, alpha_limit_per_k=0.0)
    assert found.value == pytest.approx(7904.74, abs=6e-3)
    assert found.expanded / 2 == pytest.approx(88.03, abs=6e-3)
    parts = {part.name: abs(part.standard) for part in found.parts}
    assert parts["temperature"] == pytest.approx(61.41, abs=6e-3)
    assert math.hypot(parts["meter"], parts["volume control"]) == pytest.approx(63.08, abs=6e-3)
    assert as_text(found) == "7.90 ± 0.18 kΩ"


def test_against_uncertainties():
    """The package uncertainties 3.2.3 propagates the same formula to the same ±, the wire's coefficient included."""
    read, control = ufloat(6820, 70), ufloat(500e3, 40e3)
    temperature, alpha = ufloat(26, 1.2), ufloat(0.00393, 0.00028 / math.sqrt(3))
    expected = (1 / (1 / read - 1 / control)) / (1 + alpha * (temperature - 20))
    measured = read_at_jack(6820, 0, 100 * 70 * math.sqrt(3) / 6820, 0)
    beside = nominal_control(500e3, 100 * 40e3 * math.sqrt(3) / 500e3)
    found = at_20_degrees(without_control(measured, beside), 26, 1.2)
    assert found.value == pytest.approx(expected.nominal_value, rel=1e-9)
    assert found.expanded / 2 == pytest.approx(expected.std_dev, rel=1e-6)


def test_two_controls_at_a_middle_position():
    """EL-35: 7.8 and 8.2 kilohm in parallel behind two 500 k controls read 3934.59; both on, they are 3997.5."""
    read = read_at_jack(3934.59, 0.01, 0.5, 2)
    found = without_control(read, nominal_control(500e3, 20, controls=2))
    assert found.value == pytest.approx(1 / (1 / 7800 + 1 / 8200), abs=0.01)
    assert nominal_control(500e3, 20, 2).standard_ohm == pytest.approx(500e3 * 0.2 / math.sqrt(3) / 2 / math.sqrt(2))


def test_a_measured_control_narrows_the_uncertainty():
    read = read_at_jack(7750, 10, 0.8, 3)
    nominal = without_control(read, nominal_control(250e3, 20))
    measured = without_control(read, measured_control(250e3, 1500))
    assert measured.value == nominal.value
    assert measured.expanded < nominal.expanded


def test_no_coil_reads_above_its_control():
    with pytest.raises(Refused, match=r"coil\.above_control"):
        without_control(read_at_jack(300e3, 1000, 1, 5), nominal_control(250e3, 20))

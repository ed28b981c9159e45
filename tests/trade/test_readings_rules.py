"""Copper, meters, loading by the volume control, strings and boards against the reference tables (EL, ME rows)."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from condition.errors import Refused
from condition.trade.copper import ALPHA_PER_K, at_20, warmth
from condition.trade.fret_board import fit_board, fit_rules
from condition.trade.loading import in_parallel, sensitivities, turned_down, unloaded
from condition.trade.meter import limit_of_error, standard_uncertainty
from condition.trade.pitch import hertz
from condition.trade.strings import NEWTON_PER_LBF, tension_n, unit_weight
from condition.trade.tables import rows


@pytest.mark.parametrize(
    ("ohm", "at_c", "at_20_c"),
    [(8000, 30, 7697.489), (8000, 10, 8327.261), (7500, 25, 7355.465), (7850, 23.5, 7743.488), (6200, 15, 6324.272)],
)
def test_copper_at_another_temperature(ohm, at_c, at_20_c):
    """EL-2, alpha of IEC 60028:1925 (IEC 60287-1-1, table 1)."""
    assert at_20(ohm, at_c) == pytest.approx(at_20_c, abs=5e-4)


def test_copper_agrees_with_the_other_form():
    """EL-3: R20 = R 254.5 / (234.5 + T), the same within 0.0007 %."""
    assert at_20(8000, 30) == pytest.approx(8000 * 254.5 / (234.5 + 30), rel=8e-6)
    assert round(1 / ALPHA_PER_K - 20, 3) == 234.453


def test_what_a_kelvin_does():
    """EL-4: 8 kilohm moves 31.4 ohm a kelvin."""
    assert 8000 * (warmth(21) - 1) == pytest.approx(31.44)


@pytest.mark.parametrize(
    ("reading", "percent", "digits", "resolution", "limit", "u"),
    [
        (7.85, 0.8, 3, 0.01, 0.0928, 0.05358),
        (8.02, 0.5, 2, 0.01, 0.0601, 0.03470),
        (7.85, 1.0, 5, 0.01, 0.1285, 0.07419),
        (498.0, 0.8, 3, 0.1, 4.284, 2.47337),
        (0.235, 1.0, 5, 0.001, 0.00735, 0.00424),
    ],
)
def test_meter_limits(reading, percent, digits, resolution, limit, u):
    """EL-10 to EL-14; rectangular limits by JCGM 100:2008, 4.3.7."""
    assert limit_of_error(reading, percent, digits, resolution) == pytest.approx(limit, abs=1e-9)
    assert standard_uncertainty(reading, percent, digits, resolution) == pytest.approx(u, abs=6e-6)


@pytest.mark.parametrize(
    ("coil", "control", "read"),
    [
        (8000, 250e3, 7751.94), (8000, 500e3, 7874.02), (6000, 250e3, 5859.38), (5800, 250e3, 5668.49),
        (7500, 300e3, 7317.07), (13500, 500e3, 13145.08), (15000, 500e3, 14563.11), (7200, 1e6, 7148.53),
    ],
)  # fmt: skip
def test_a_coil_through_the_jack(coil, control, read):
    """EL-20 to EL-27 (Ohm's law), there and back."""
    assert in_parallel(coil, control) == pytest.approx(read, abs=6e-3)
    assert unloaded(in_parallel(coil, control), control) == pytest.approx(coil)


@pytest.mark.parametrize(
    ("control", "coil"), [(250e3, 7997.94), (200e3, 8062.42), (225e3, 8026.47), (275e3, 7974.74), (300e3, 7955.52)]
)
def test_the_control_taken_out_by_reckoning(control, coil):
    """EL-30."""
    assert unloaded(7750, control) == pytest.approx(coil, abs=6e-3)


def test_parts_of_the_uncertainty_of_an_unloaded_coil():
    """EL-31: u(Rm) 60 and 250 k +- 20 % rectangular bring 63.90 and 29.55."""
    by_read, by_control = sensitivities(7750, 250e3)
    assert by_read * 60 == pytest.approx(63.90, abs=6e-3)
    assert abs(by_control) * 0.2 * 250e3 / math.sqrt(3) == pytest.approx(29.55, abs=6e-3)


@pytest.mark.parametrize(
    ("turn", "usual", "independent"),
    [(1, 7751.94, 7751.94), (0.9, 28779.07, 32725.32), (0.5, 64437.98, 132518.80), (0.1, 22577.52, 231060.61),
     (0, 0, 250000)],
)  # fmt: skip
def test_the_volume_turned_down(turn, usual, independent):
    """EL-33, EL-34."""
    assert turned_down(8000, 250e3, turn) == pytest.approx(usual, abs=6e-3)
    assert turned_down(8000, 250e3, turn, "independent") == pytest.approx(independent, abs=6e-3)


def test_several_coils_and_controls():
    """EL-35 to EL-37, and TP-1: 8.0 and 7.8 kilohm read through separate 500 k controls are 8.13 and 7.92, and 3.95
    with both on (common practice, computed)."""
    assert in_parallel(7800, 8200, 500e3, 500e3) == pytest.approx(3934.59, abs=6e-3)
    assert in_parallel(6000, 6200, 250e3) == pytest.approx(3012.44, abs=6e-3)
    assert in_parallel(4000, 4100) == pytest.approx(2024.69, abs=6e-3)
    assert [round(unloaded(r, 500e3) / 1000, 2) for r in (8000, 7800)] == [8.13, 7.92]
    assert in_parallel(8000, 7800) / 1000 == pytest.approx(3.95, abs=0.005)


def test_nothing_reads_above_its_control():
    with pytest.raises(Refused, match=r"coil\.above_control"):
        unloaded(250e3, 250e3)


@pytest.mark.parametrize(
    ("note", "hz"), [("E4", 329.628), ("B3", 246.942), ("G3", 195.998), ("D3", 146.832), ("A2", 110.0), ("E2", 82.407)]
)
def test_notes(note, hz):
    """Equal temperament on A4 = 440 Hz (ISO 16), as section 6.2 lists them."""
    assert hertz(note) == pytest.approx(hz, abs=6e-4)


def test_signs_and_octaves():
    assert hertz("F#3") == pytest.approx(hertz("Gb3"))
    assert hertz("C4") == pytest.approx(261.626, abs=6e-4)
    for bad in ("H2", "E", "", "E44"):
        with pytest.raises(Refused, match=r"strings\.note"):
            hertz(bad)


STRINGS = [
    ("plain", 0.010, 0.00002215, 329.628, 16.2003, 15.2614, 18.1623, 72.063),
    ("plain", 0.013, 0.00003744, 246.942, 15.3684, 14.4776, 17.2296, 68.362),
    ("plain", 0.017, 0.00006402, 195.998, 16.5547, 15.5952, 18.5596, 73.639),
    ("wound", 0.026, 0.00012671, 146.832, 18.3890, 17.3232, 20.6160, 81.798),
    ("wound", 0.036, 0.00023964, 110.000, 19.5186, 18.3873, 21.8824, 86.823),
    ("wound", 0.046, 0.00038216, 82.407, 17.4693, 16.4568, 19.5850, 77.707),
]


@pytest.mark.parametrize(("winding", "inch", "weight", "hz", "lbf", "short", "long", "newton"), STRINGS)
def test_string_tension(winding, inch, weight, hz, lbf, short, long, newton):
    """Section 6.2: unit weights of a maker's published tension guide."""
    found = unit_weight(inch * 25.4, winding)
    assert found.lb_in == weight
    assert not found.estimated
    for length, expected in ((25.5, lbf), (24.75, short), (27.0, long)):
        assert tension_n(weight, length * 25.4, hz) / NEWTON_PER_LBF == pytest.approx(expected, rel=2e-5)
    assert tension_n(weight, 25.5 * 25.4, hz) == pytest.approx(newton, rel=2e-5)


def test_the_whole_set_pulls_460_newtons():
    """Section 6.2: 103.5002 lbf, 460.39 N at 25.5 in."""
    total = sum(tension_n(row[2], 25.5 * 25.4, row[3]) for row in STRINGS)
    assert total == pytest.approx(460.39, abs=0.01)


def test_plain_steel_by_its_density():
    """Section 6.2's check: .010 in at 0.282 lb/in3 is 0.00002215, never the 0.0000742 of some web pages."""
    thin = unit_weight(0.011 * 25.4, "plain")
    assert thin.estimated
    assert thin.lb_in == pytest.approx(0.00002215 * 1.21, rel=2e-3)


def test_wound_strings_between_the_rows_stay_between_them():
    below, between, above = (unit_weight(inch * 25.4, "wound").lb_in for inch in (0.026, 0.030, 0.036))
    assert below < between < above
    assert unit_weight(0.030 * 25.4, "wound").estimated
    assert unit_weight(0.7, "other") is None


@pytest.mark.parametrize(("rule", "column"), [("exact", "et_25.5in"), ("18", "rule18_25.5in")])
def test_a_board_gives_its_string_length_back(rule, column):
    """Fret table of section 6.1 (exact rule; 18: Mottola, American Lutherie 130)."""
    places = [(int(row["fret"]), float(row[column]) * 25.4) for row in rows("frets")]
    fit = fit_board(places, rule)
    assert fit.length_mm == pytest.approx(25.5 * 25.4, abs=0.01)
    assert fit.spread_mm < 0.01
    assert fit_rules(places)[0].rule == rule


def test_an_old_board_is_told_from_an_exact_one():
    """TP-10: boards divided by 18 fall short at the 12th fret; read to half a millimetre that still shows."""
    places = [(int(row["fret"]), round(2 * float(row["rule18_25.5in"]) * 25.4) / 2) for row in rows("frets")]
    best, other = fit_rules(places)
    assert best.rule == "18"
    assert other.spread_mm > 2 * best.spread_mm


def test_a_board_without_frets_is_refused():
    with pytest.raises(Refused, match=r"frets\.too_few"):
        fit_board([(0, 0.0)], "exact")


@given(
    coil=st.floats(100, 50e3), control=st.floats(100e3, 2e6), temperature=st.floats(-10, 40), more=st.floats(1e-6, 0.5)
)
def test_loading_and_warmth_are_monotonous(coil, control, temperature, more):
    """A larger control takes less away; a warmer coil reads more."""
    assert in_parallel(coil, control) < in_parallel(coil, control * (1 + more)) < coil
    assert at_20(coil, temperature) > at_20(coil, temperature + 10 * more)
    assert unloaded(in_parallel(coil, control), control) == pytest.approx(coil, rel=1e-6)

"""Sizes as typed at the bench; inch is 25.4 mm exactly (international yard and pound, 1959)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from condition.errors import Refused
from condition.trade.spoken import humidity_percent, length_mm, range_ohm, resistance_ohm, temperature_c, weight_g


@pytest.mark.parametrize(
    ("text", "mm", "step"),
    [
        ("3.4 mm", 3.4, 0.1), ("3,4", 3.4, 0.1), ("3.40mm", 3.4, 0.01), ("0,45 mm", 0.45, 0.01),
        ("3/32 in", 2.38125, 25.4 / 32), ('3/32"', 2.38125, 25.4 / 32), ("3/32", 2.38125, 25.4 / 32),
        ('1 1/8"', 28.575, 25.4 / 8), ("1-1/64 inch", 25.796875, 25.4 / 64),
        ('0.118"', 2.9972, 0.0254), (".012 in", 0.3048, 0.0254), ("118 thou", 2.9972, 0.0254),
        ("12 thousandths", 0.3048, 0.0254), ("53 cm", 530.0, 10.0), ("25.5 in", 647.7, 2.54),
    ],
)  # fmt: skip
def test_lengths(text, mm, step):
    said = length_mm(text)
    assert said.value == pytest.approx(mm, abs=1e-9)
    assert said.step == pytest.approx(step)


@pytest.mark.parametrize("text", ["", "a hair", "3/0 in", "-3 mm", "3.4 kg", "1/2/3", "nan", "1e3", "3 4"])
def test_what_is_no_length_is_refused(text):
    with pytest.raises(Refused, match=r"spoken\.length"):
        length_mm(text)


@pytest.mark.parametrize(
    ("text", "ohm", "step"),
    [
        ("6.82 k", 6820, 10), ("6,82 kΩ", 6820, 10), ("6.82kohm", 6820, 10), ("6k82", 6820, 10), ("6820", 6820, 1),
        ("498.0 k", 498000, 100), ("1.2 M", 1.2e6, 1e5), ("470 ohm", 470, 1), ("0.235 k", 235, 1), ("0", 0, 1),
        ("4R7", 4.7, 0.1),
    ],
)  # fmt: skip
def test_resistances(text, ohm, step):
    said = resistance_ohm(text)
    assert said.value == pytest.approx(ohm)
    assert said.step == pytest.approx(step)


@pytest.mark.parametrize("text", ["OL", "O.L", "open", "∞", "overload"])
def test_an_open_circuit(text):
    assert resistance_ohm(text) is None


def test_a_small_bare_number_may_be_either():
    with pytest.raises(Refused, match=r"spoken\.which_ohm"):
        resistance_ohm("6.82")
    with pytest.raises(Refused, match=r"spoken\.resistance"):
        resistance_ohm("about six")


def test_ranges():
    assert range_ohm("6.5-7.5 k") == (6500.0, 7500.0)
    assert range_ohm("6.5 k to 7.5 k") == (6500.0, 7500.0)
    assert range_ohm("6,5 – 7,5 kΩ") == (6500.0, 7500.0)
    for bad in ("7.5-6.5 k", "7 k", "", "a-b"):
        with pytest.raises(Refused, match=r"spoken\.range"):
            range_ohm(bad)


def test_weights_degrees_and_humidity():
    assert weight_g("1.2 kg").value == pytest.approx(1200)
    assert weight_g("2 lb 3 oz").value == pytest.approx(992.233, abs=1e-3)
    assert temperature_c("69 F").value == pytest.approx(20.5556, abs=1e-4)
    assert temperature_c("20,5 °C").value == 20.5
    assert humidity_percent("31 %").value == 31
    for read, bad in ((humidity_percent, "131"), (temperature_c, "205"), (weight_g, "heavy")):
        with pytest.raises(Refused):
            read(bad)


@given(st.decimals(min_value=0, max_value=999, places=2), st.sampled_from(["mm", " mm", ""]))
def test_millimetres_come_back_as_typed(number, unit):
    assert length_mm(f"{number}{unit}").value == pytest.approx(float(number))


@given(st.text(max_size=12))
def test_any_text_is_read_or_refused(text):
    for read in (length_mm, resistance_ohm, weight_g, temperature_c, humidity_percent, range_ohm):
        try:
            read(text)
        except Refused:
            continue

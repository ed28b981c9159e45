"""Bands, printed codes and source-date codes against the reference's tables (EL rows)."""

from __future__ import annotations

import csv
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from condition.errors import Refused
from condition.trade.colour_bands import bands_of, film, moulded_paper, resistor
from condition.trade.printed_codes import is_preferred, printed_capacitor, printed_resistor
from condition.trade.source_date import claimed_years, fit_with, source_date, week_span
from condition.trade.tables import rows

HERE = Path(__file__).parent


@pytest.mark.parametrize(
    ("bands", "ohm", "percent"),
    [
        ("brown black red gold", 1e3, 5), ("yellow violet red gold", 4.7e3, 5), ("red red orange gold", 22e3, 5),
        ("brown black black gold brown", 10, 1), ("brown black green silver", 1e6, 10),
        ("brown green green gold", 1.5e6, 5), ("red red blue brown brown", 2.26e3, 1),
        ("orange white silver gold", 0.39, 5), ("brown black red", 1e3, 20), ("BN BK RD GD", 1e3, 5),
    ],
)  # fmt: skip
def test_resistor_bands(bands, ohm, percent):
    """EL-40 to EL-47, IEC 60062:2016 (two published charts)."""
    marked = resistor(bands)
    assert marked.value == pytest.approx(ohm)
    assert marked.unit == "ohm"
    assert marked.tolerance_percent == (percent, percent)


def test_six_bands_carry_a_temperature_coefficient():
    """EL-5: red is 50 ppm a kelvin."""
    assert resistor("brown black black red brown red").tempco_ppm_per_k == 50


def test_every_colour_of_the_reference_is_in_our_table():
    """EL-5; grey's tolerance is left open (EL-6: sources disagree)."""
    ours = {row["colour"]: row for row in rows("band_colours")}
    with (HERE / "colour_code.csv").open(encoding="utf-8") as file:
        for row in csv.DictReader(file):
            assert ours[row["colour"]]["digit"] == row["digit"]
            assert ours[row["colour"]]["multiplier"] == row["multiplier"]
            if row["colour"] != "grey":
                assert ours[row["colour"]]["tolerance_percent"] == row["tolerance_percent_iec60062_2016"]
    marked = resistor("brown black black brown grey")
    assert marked.tolerance_percent is None
    assert "codes.grey_tolerance" in [code for code, _ in marked.notes]


@pytest.mark.parametrize(
    ("bands", "code"),
    [
        ("brown mauve red", "codes.colour"), ("", "codes.no_bands"), ("brown black", "codes.band_count"),
        ("gold brown red gold", "codes.no_figure"), ("black brown red gold", "codes.begins_black"),
        ("brown black none gold", "codes.no_multiplier"), ("brown black red pink", "codes.not_here"),
    ],
)  # fmt: skip
def test_bands_that_cannot_be(bands, code):
    with pytest.raises(Refused) as refusal:
        resistor(bands)
    assert refusal.value.code == code


def test_bands_that_read_both_ways_say_so():
    told = dict(resistor("brown black black red brown").notes)
    assert "codes.other_way" in told


@pytest.mark.parametrize(
    ("bands", "pf", "percent", "volts"),
    [
        ("red red orange black yellow", 22e3, 20, 400), ("yellow violet orange white blue", 47e3, 10, 600),
        ("brown black yellow green brown black", 100e3, 5, 1000), ("green black orange", 50e3, None, None),
    ],
)  # fmt: skip
def test_moulded_paper_capacitors(bands, pf, percent, volts):
    """TP-9 and a public radio chart: two figures, multiplier, tolerance (black 20, white 10, green 5 %), then hundreds
    of volts by one figure below 1000 V and by two from there on."""
    marked = moulded_paper(bands)
    assert marked.value == pytest.approx(pf)
    assert marked.tolerance_percent == (None if percent is None else (percent, percent))
    assert marked.volts == volts


def test_moulded_paper_is_not_a_resistor():
    """TP-9: gold is no tolerance of the old order, and black is none of a resistor's."""
    with pytest.raises(Refused):
        moulded_paper("red red orange gold")
    with pytest.raises(Refused):
        resistor("red red orange black")


def test_film_capacitors():
    """Published charts of the later five-band order: red 250 V, yellow 400 V."""
    marked = film("brown black yellow white red")
    assert (marked.value, marked.tolerance_percent, marked.volts) == (100e3, (10, 10), 250)


@pytest.mark.parametrize(
    ("text", "ohm"),
    [("R47", 0.47), ("4R7", 4.7), ("470R", 470), ("4K7", 4700), ("47K", 47e3), ("47K3", 47300), ("4M7", 4.7e6)],
)
def test_letter_code(text, ohm):
    """EL-48, IEC 60062."""
    assert printed_resistor(text).value == pytest.approx(ohm)


@pytest.mark.parametrize(
    ("text", "pf"),
    [
        ("223", 22e3), ("473", 47e3), ("104", 100e3), ("503", 50e3), ("4n7", 4700), (".05 MFD", 50e3), ("1 MF", 1e6),
        ("250 MMF", 250), ("0,022 µF 400V", 22e3), ("100 µµF", 100), ("n47", 470), ("473K", 47e3),
    ],
)  # fmt: skip
def test_capacitor_codes(text, pf):
    """EL-49 and EL-51 (from memory): MF never means millifarad on old parts."""
    assert printed_capacitor(text).value == pytest.approx(pf)


def test_tolerance_letters_and_volts():
    """EL-50."""
    assert printed_capacitor("473K 400V").tolerance_percent == (10, 10)
    assert printed_capacitor("473K 400V").volts == 400
    assert printed_capacitor("103Z").tolerance_percent == (20, 80)
    assert printed_resistor("4K7J").tolerance_percent == (5, 5)
    for letter, percent in (("F", 1), ("G", 2), ("M", 20)):
        assert printed_resistor(f"470R{letter}").tolerance_percent == (percent, percent)


def test_preferred_values():
    """EL-52 to EL-55, IEC 60063:2015: E192 has 9.20 and not 9.19; 250 k, 500 k and 0.05 uF are in no series."""
    e12 = [float(row["value"]) for row in rows("e24") if row["e12"]]
    assert e12 == [1.0, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2]
    others = [float(row["value"]) for row in rows("e24") if not row["e12"]]
    assert others == [1.1, 1.3, 1.6, 2.0, 2.4, 3.0, 3.6, 4.3, 5.1, 6.2, 7.5, 9.1]
    assert is_preferred(4700)
    assert not is_preferred(250e3)
    assert not is_preferred(500e3)
    assert all(is_preferred(v) for v in (2.26e3, 9.2, 1.01, 9.88e5))
    assert not is_preferred(9.19)
    assert "codes.off_series" in [code for code, _ in printed_capacitor(".05 MFD").notes]
    assert printed_capacitor("473").notes == ()


def test_text_that_is_no_code():
    for text in ("", "K", "hello", "12345678"):
        with pytest.raises(Refused):
            printed_resistor(text)
        with pytest.raises(Refused):
            printed_capacitor(text)


GOOD_DATES = [
    ("1377624", "137", (1976,), 24),
    ("137 7421", "137", (1974,), 21),
    ("137634", "137", (1946, 1956, 1966, 1976), 34),
    ("1379702", "137", (1997,), 2),
    ("1379710", "137", (1997,), 10),
    ("113-9910", "113", (1999,), 10),
    ("606-4-21", "606", (1954, 1964, 1974), 21),
    ("304-542", "304", (1945, 1955, 1965, 1975), 42),
    ("1346247", "134", (1962,), 47),
    ("1376053", "137", (1960,), 53),
]


@pytest.mark.parametrize(("marking", "code", "years", "week"), GOOD_DATES)
def test_source_dates(marking, code, years, week):
    """Reference table of source-date codes (trade articles, EL-60 to EL-67)."""
    found = source_date(marking)
    assert (found.source_code, found.years, found.week) == (code, years, week)
    assert found.doubtful_week == (week == 53)
    assert found.decade_open == (len(years) > 1)


def test_the_reference_table_row_by_row():
    """source_dates.csv (trade articles and the rule they give): every row decodes as listed or is refused."""
    with (HERE / "source_dates.csv").open(encoding="utf-8") as file:
        for row in csv.DictReader(file):
            if row["year_candidates"]:
                found = source_date(row["marking"])
                assert "|".join(map(str, found.years)) == row["year_candidates"]
                assert found.week == int(row["week"])
                assert found.source_code == row["source_code"]
                assert bool(found.maker) == (row["source_code"] != "113")
            else:
                with pytest.raises(Refused):
                    source_date(row["marking"])


@pytest.mark.parametrize(
    ("marking", "code"),
    [
        ("1377660", "codes.week"), ("1377600", "codes.week"), ("13776", "codes.too_short"), ("", "codes.not_digits"),
        ("ABC 634", "codes.not_digits"), ("123456789", "codes.too_long"), ("1374410", "codes.year"),
    ],
)  # fmt: skip
def test_what_is_no_source_date(marking, code):
    with pytest.raises(Refused) as refusal:
        source_date(marking, this_year=2026)
    assert refusal.value.code == code


def test_weeks_run_sunday_to_saturday():
    """EL-65: week 10 of 1999 is 7 to 13 March (the code administrator's page), not ISO's 8 to 14."""
    assert week_span(1999, 10) == (date(1999, 3, 7), date(1999, 3, 13))


def test_a_date_says_not_made_before_and_no_more():
    """EL-66."""
    assert fit_with((1976,), "1978") == "fits"
    assert fit_with((1976,), "1975") == "later"
    assert fit_with((1946, 1956, 1966, 1976), "about 1960") == "some fit"
    assert fit_with((1976,), "late 1970s") == "fits"
    assert fit_with((1976,), "made to order") == "unknown"
    assert claimed_years("between 1950 and 1962, they say") == (1950, 1962)


@given(st.integers(1, 9999), st.integers(0, 99), st.integers(0, 99))
def test_any_two_digit_year_is_one_year_and_a_week_in_it(source, year, week):
    """Round trip of source, year and week through the dashed form."""
    marking = f"{source}-{year:02d}{week:02d}"
    if not 1 <= week <= 53:
        with pytest.raises(Refused, match=r"codes\.week"):
            source_date(marking)
        return
    found = source_date(marking)
    assert found.years[0] % 100 == year
    assert 1945 <= found.years[0] <= 2044
    first, last = week_span(found.years[0], found.week)
    assert (last - first).days == 6
    assert first.weekday() == 6


@given(st.lists(st.sampled_from([row["colour"] for row in rows("band_colours")]), min_size=1, max_size=7))
def test_any_bands_decode_or_are_refused(bands):
    for decode in (resistor, moulded_paper, film):
        try:
            marked = decode(" ".join(bands))
        except Refused:
            continue
        assert marked.value >= 0
    assert bands_of(" ".join(bands)) == tuple(bands)

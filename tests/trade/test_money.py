"""Rounding and currencies against ISO 4217, and sums that add up to the last minor unit in every currency."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from condition.errors import Refused
from condition.trade.money import allocate, currencies, currency, from_minor, read_amount, read_decimal, shown, to_minor
from condition.trade.reckoning import Priced, Terms, part_of, reckon, work_of

ROUNDINGS = ("half up", "half even", "down")
RICHER_IN_ISO = {"AFN", "ALL", "IRR", "IQD", "KPW", "LAK", "LBP", "MGA", "MMK", "RSD", "SOS", "SYP", "YER"}

ROUNDED = """
0.125     0.13    0.12    0.12
0.135     0.14    0.14    0.13
2.675     2.68    2.68    2.67
1.005     1.01    1.00    1.00
0.145     0.15    0.14    0.14
-0.125    -0.13   -0.12   -0.12
18.125    18.13   18.12   18.12
9.065     9.07    9.06    9.06
"""
"""ISO 80000-1 annex B: rule B (half up) and rule A (half even); values by Python's ``decimal``."""


@pytest.mark.parametrize("row", ROUNDED.strip().splitlines())
def test_the_rules_of_rounding(row):
    value, *wanted = row.split()
    assert [from_minor(to_minor(Decimal(value), "EUR", rule), "EUR") for rule in ROUNDINGS] == [*map(Decimal, wanted)]


@pytest.mark.parametrize(
    ("value", "code", "wanted"),
    [("1234.5", "JPY", (1235, 1234, 1234)), ("12.3445", "KWD", (12345, 12344, 12344))],
)
def test_rounding_goes_to_the_currencys_own_minor_unit(value, code, wanted):
    """ISO 4217: the yen has no minor unit, the Kuwaiti dinar has thousandths."""
    assert tuple(to_minor(Decimal(value), code, rule) for rule in ROUNDINGS) == wanted


def test_half_a_cent_goes_up_in_euro():
    """Regulation (EC) 1103/97, article 5: exactly half way is rounded up."""
    assert to_minor(Decimal("0.005"), "EUR") == 1


@pytest.mark.parametrize(
    ("codes", "places"),
    [("USD EUR GBP CHF SEK HUF", 2), ("JPY KRW CLP ISK", 0), ("BHD KWD JOD OMR TND", 3), ("CLF", 4)],
)
def test_minor_units(codes, places):
    """ISO 4217 (as CLDR has them, read with babel 2.18; HUF is 2 on paper)."""
    assert {currency(code).places for code in codes.split()} == {places}


def test_minor_units_agree_with_those_cldr_keeps():
    """Unicode CLDR, by babel: where it departs from ISO 4217, it leaves out minor units no coin is left of."""
    babel = pytest.importorskip("babel.core")
    fractions = babel.get_global("currency_fractions")
    usual = fractions["DEFAULT"][0]
    departs = {code for code, one in currencies().items() if fractions.get(code, (usual,))[0] != one.places}
    assert departs <= RICHER_IN_ISO
    assert all(fractions[code][0] < currencies()[code].places for code in departs)


def test_there_is_no_money_without_a_currency():
    for code in ("", "EURO", "XAU", "DEM"):
        with pytest.raises(Refused) as caught:
            currency(code)
        assert caught.value.code == "money.unknown_currency"


@pytest.mark.parametrize(
    ("typed", "number"),
    [
        ("1,250.40", "1250.40"),
        ("1.250,40", "1250.40"),
        ("1 250,40", "1250.40"),
        ("1\u202f250.40", "1250.40"),
        ("1'250.40", "1250.40"),
        ("12,5", "12.5"),
        ("1,250,000", "1250000"),
        ("7", "7"),
    ],
)
def test_amounts_are_read_as_people_write_them(typed, number):
    """Decimal signs and groups of thousands: ISO 80000-1, 7.3 (from memory), and common practice."""
    assert read_decimal(typed) == Decimal(number)


@pytest.mark.parametrize("typed", ["", "about ten", "NaN", "inf", "1e99", "--3"])
def test_what_is_no_number_is_refused(typed):
    with pytest.raises(Refused) as caught:
        read_decimal(typed)
    assert caught.value.code == "money.no_number"


def test_nothing_is_rounded_away_from_what_was_typed():
    assert read_amount("4800", "EUR") == 480000
    assert read_amount("4800", "JPY") == 4800
    with pytest.raises(Refused) as caught:
        read_amount("1.005", "EUR")
    assert caught.value.code == "money.too_fine"


def test_amounts_are_shown_with_their_places():
    assert shown(480000, "EUR") == "4\u202f800.00 EUR"
    assert shown(1235, "JPY") == "1\u202f235 JPY"
    assert shown(-5, "KWD") == "-0.005 KWD"


# --- worked quotes, recomputed with Python's decimal --------------------------------------------------------------


def test_labour_materials_tax_and_deposit():
    """6.25 h x 85.00 and 48.60 of materials; tax 20 %, deposit 30 %."""
    work, _ = work_of(Decimal("6.25"), Decimal("85.00"), 0, "EUR", "half up")
    assert work == 53125
    terms = Terms("EUR", tax_percent=Decimal(20), deposit_percent=Decimal(30))
    _, sums = reckon([Priced(work + 4860)], terms)
    assert (sums.net, sums.tax, sums.gross, sums.deposit, sums.balance) == (57985, 11597, 69582, 20875, 48707)


@pytest.mark.parametrize(("percent", "tax"), [("7.5", 2177), ("19", 5514), ("8.25", 2394)])
def test_tax_of_an_exact_net_and_of_its_rounded_lines(percent, tax):
    """3.75 h x 72.50 = 271.875 and 18.35: net 290.225, unrounded before tax; rounded lines come to the same."""
    assert part_of(Decimal("290.225"), Decimal(percent), "EUR", "half up") == tax
    work, _ = work_of(Decimal("3.75"), Decimal("72.50"), 0, "EUR", "half up")
    assert reckon([Priced(work), Priced(1835)], Terms("EUR", tax_percent=Decimal(percent)))[1].tax == tax


def test_tax_by_the_line_and_on_the_total_differ():
    """3 lines of 0.33 at 19 %: 0.06 each, or 0.19 together."""
    lines = [Priced(33)] * 3
    by_line = reckon(lines, Terms("EUR", tax_percent=Decimal(19), tax_on="line"))
    on_total = reckon(lines, Terms("EUR", tax_percent=Decimal(19)))
    assert (by_line[1].tax, on_total[1].tax) == (18, 19)
    assert sorted(share.tax for share in on_total[0]) == [6, 6, 7]


def test_a_quarter_of_an_hour():
    """0.25 h x 72.50 = 18.125."""
    half = [work_of(Decimal("0.25"), Decimal("72.50"), 0, "EUR", rule)[0] for rule in ("half up", "half even")]
    assert half == [1813, 1812]


def test_deposit_and_balance_are_never_both_rounded_up():
    """50 % of 18.13: 9.07 now, 9.06 later."""
    _, sums = reckon([Priced(1813)], Terms("EUR", deposit_percent=Decimal(50)))
    assert (sums.deposit, sums.balance) == (907, 906)


def test_a_line_costs_its_minimum():
    assert work_of(Decimal(1), Decimal("12.50"), 3000, "EUR", "half up") == (3000, True)
    assert work_of(Decimal(4), Decimal("12.50"), 3000, "EUR", "half up") == (5000, False)
    assert work_of(Decimal(0), Decimal("12.50"), 3000, "EUR", "half up") == (0, False)


# --- whatever the numbers, the sums add up ------------------------------------------------------------------------

_percent = st.decimals(0, 100, places=3)
_lines = st.lists(
    st.builds(Priced, net=st.integers(0, 10**9), counted=st.sampled_from((True, True, False)), taxed=st.booleans()),
    max_size=12,
)
_terms = st.builds(
    Terms,
    currency=st.sampled_from(sorted(currencies())),
    rounding=st.sampled_from(ROUNDINGS),
    tax_percent=_percent,
    tax_on=st.sampled_from(("total", "line")),
    discount_percent=_percent,
    discount_minor=st.integers(0, 10**6),
    deposit_percent=_percent,
)


@given(_lines, _terms)
def test_lines_discount_tax_and_total_always_add_up(lines, terms):
    shares, sums = reckon(lines, terms)
    counted = [line.counted for line in lines]
    assert sum(line.net for line in lines if line.counted) == sums.net
    assert sum(share.discount for share in shares) == sums.discount
    assert sum(share.tax for share in shares) == sums.tax
    assert sums.net - sums.discount + sums.tax == sums.gross
    assert sums.deposit + sums.balance == sums.gross
    per_line = [
        line.net - share.discount + share.tax for line, share in zip(lines, shares, strict=True) if line.counted
    ]
    assert sum(per_line) == sums.gross
    assert all(share.discount <= line.net for line, share in zip(lines, shares, strict=True) if line.counted)
    assert all(share == type(share)() for share, counts in zip(shares, counted, strict=True) if not counts)
    assert all(not share.tax for line, share in zip(lines, shares, strict=True) if not line.taxed)
    printed = [from_minor(amount, terms.currency) for amount in per_line]
    assert sum(printed, Decimal(0)) == from_minor(sums.gross, terms.currency)
    assert sums.gross >= 0 <= sums.balance


@pytest.mark.parametrize("code", sorted(currencies()))
def test_they_add_up_in_every_currency(code):
    """Lines of a third each, so that nothing divides: the printed amounts still add up."""
    lines = [Priced(work_of(Decimal(1) / 3, Decimal(n), 0, code, "half up")[0]) for n in (1, 10, 100, 1000)]
    terms = Terms(code, tax_percent=Decimal("19"), discount_percent=Decimal("3.3"), deposit_percent=Decimal("33.3"))
    shares, sums = reckon(lines, terms)
    printed = [
        from_minor(line.net - share.discount + share.tax, code) for line, share in zip(lines, shares, strict=True)
    ]
    assert sum(printed, Decimal(0)) == from_minor(sums.gross, code)
    assert from_minor(sums.deposit, code) + from_minor(sums.balance, code) == from_minor(sums.gross, code)


@given(st.integers(-(10**12), 10**12), st.lists(st.integers(0, 10**9), min_size=1, max_size=20))
def test_shares_add_up_and_none_is_off_by_a_unit(total, weights):
    shares = allocate(total, weights)
    assert sum(shares) == total
    if whole := sum(weights):
        assert all(abs(share * whole - total * weight) < whole for share, weight in zip(shares, weights, strict=True))


def test_the_largest_remainders_get_what_is_left():
    """Largest remainder method, worked by hand: 100 over 1 : 1 : 1, and 10 over 16 : 51 : 33."""
    assert allocate(100, (1, 1, 1)) == (34, 33, 33)
    assert allocate(10, (16, 51, 33)) == (2, 5, 3)


@pytest.mark.parametrize("percent", ["-1", "100.01"])
def test_a_percentage_outside_its_range_is_refused(percent):
    with pytest.raises(Refused) as caught:
        reckon([Priced(100)], Terms("EUR", tax_percent=Decimal(percent)))
    assert caught.value.code == "money.percent"

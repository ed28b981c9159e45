"""An estimate follows findings and prices until it is sent; then nothing changes it. Rows QU-.. are trade practice for
what a quote shows (common practice)."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from condition.errors import Damaged, Refused
from condition.flow.desk import new_id
from condition.flow.estimates import (
    accepted_totals,
    add_line,
    answer,
    begin,
    estimates_of,
    keep_estimate,
    keep_line,
    lines_from_plan,
    new_edition,
    put_back_estimate,
    remove_estimate,
    send,
    sheet_of,
    sheet_sha256,
    troubles_of,
)  # fmt: skip
from condition.flow.findings import edit_finding, new_finding, type_measurement
from condition.flow.jobs import describe
from condition.flow.plan import propose
from condition.flow.price_book import keep_price, keep_shop_money, new_price, price_book, shop_money
from condition.flow.shop import keep_shop, shop
from condition.records.estimate import Estimate, EstimateLine
from condition.records.instrument import Instrument
from condition.records.job import Job
from condition.records.measurement import Measurement
from condition.records.money import PriceVariant
from condition.records.person import Person
from condition.store import Stale

SENT = "2026-11-19T09:30:00Z"


@pytest.fixture
def shop_of(desk):
    keep_shop(desk, replace(shop(desk), name="Tolland Bench", address="3 Reed Lane"))
    keep_shop_money(
        desk,
        replace(
            shop_money(desk), tax_name="VAT", tax_percent=Decimal(20), deposit_percent=Decimal(30), validity_days=28
        ),
    )
    new_price(desk, "Glue and cleat a crack", "cm", Decimal("7.50"), minimum_minor=6000, suits=("crack",))
    new_price(
        desk, "Plug a hole", "hole", Decimal("18"), materials_minor=250, materials_each=True, suits=("screw hole",)
    )
    new_price(
        desk,
        "Refret",
        "fret",
        Decimal("14"),
        variants=(PriceVariant("set neck with bound board", Decimal("21.50")),),
        suits=("worn fret",),
    )
    return desk


@pytest.fixture
def crack(shop_of, job):
    finding = new_finding(shop_of, job, "crack", place="top", decision="repair", decision_reason="it runs on")
    length = Measurement("length", 148.2, "mm", 0.9, "rule")
    return type_measurement(shop_of, finding, length, overrules=True)


@pytest.fixture
def holes(shop_of, job):
    finding = new_finding(shop_of, job, "screw hole", place="top", decision="repair")
    return type_measurement(shop_of, finding, Measurement("count", 4, "", 0, "count"), overrules=True)


@pytest.fixture
def estimate(desk, job, crack, holes) -> Estimate:
    propose(desk, job, "finding", crack.id, what="Glue and cleat the crack")
    propose(desk, job, "finding", holes.id, what="Plug four holes")
    return begin(desk, job)


def test_quantities_come_from_what_was_measured(desk, estimate, crack, holes):
    crack_line, hole_line = sheet_of(desk, estimate).lines
    assert (crack_line.quantity, crack_line.unit, crack_line.measured) == (Decimal("14.8"), "cm", "148.20 ± 0.90 mm")
    assert (crack_line.work, crack_line.net, crack_line.finding) == (11100, 11100, crack.number)
    assert (hole_line.quantity, hole_line.work, hole_line.materials, hole_line.net) == (4, 7200, 1000, 8200)
    assert crack_line.why == "it runs on"
    totals = sheet_of(desk, estimate).totals
    assert (totals.net, totals.tax, totals.gross, totals.deposit, totals.balance) == (19300, 3860, 23160, 6948, 16212)


def test_quantities_follow_the_findings_and_prices_until_it_is_sent(desk, estimate, crack):
    type_measurement(desk, crack, Measurement("length", 52.0, "mm", 0.9, "rule"), overrules=True)
    line = sheet_of(desk, estimate).lines[0]
    assert (line.quantity, line.work, line.at_minimum) == (Decimal("5.2"), 6000, True)
    entry = next(one for one in price_book(desk) if one.unit == "cm")
    keep_price(desk, replace(entry, rate=Decimal(30)))
    assert sheet_of(desk, estimate).lines[0].work == 15600


def test_a_sent_estimate_is_not_changed_by_findings_prices_names_or_the_clock(desk, job, estimate, crack, holes):
    sent = send(desk, estimate, at=SENT)
    before = sheet_of(desk, sent)
    assert (before.dated, before.valid_until, before.client_name) == ("2026-11-19", "2026-12-17", "A. Client")
    type_measurement(desk, crack, Measurement("length", 300.0, "mm", 0.9, "rule"), overrules=True)
    edit_finding(desk, replace(desk.store.get(type(holes), holes.id), kind="dent", decision_reason="other"))
    for entry in price_book(desk):
        keep_price(desk, replace(entry, name=f"{entry.name} 2", rate=entry.rate * 3, minimum_minor=99999))
    keep_shop_money(desk, replace(shop_money(desk), currency="JPY", tax_percent=Decimal(5), rounding="down"))
    keep_shop(desk, replace(shop(desk), name="Another shop"))
    client = desk.store.get(Person, job.client_id)
    describe(
        desk, desk.store.get(Job, job.id), desk.store.get(Instrument, job.instrument_id), replace(client, name="B.")
    )
    propose(desk, job, what="Something new")
    assert sheet_of(desk, sent) == before
    assert sheet_of(desk, sent, at="2031-01-01T00:00:00Z") == before
    assert desk.store.get(Estimate, sent.id).sent_sha256 == sheet_sha256(before)


def test_no_edit_reaches_a_sent_estimate(desk, estimate):
    sent = send(desk, estimate, at=SENT)
    line = sent.lines[0]
    for edit in (
        lambda: keep_estimate(desk, replace(sent, discount_percent=Decimal(50))),
        lambda: add_line(desk, sent, EstimateLine(new_id(), "More", rate=Decimal(1))),
        lambda: keep_line(desk, sent, replace(line, quantity=Decimal(99))),
        lambda: lines_from_plan(desk, replace(sent, lines=())) and keep_estimate(desk, replace(sent, lines=())),
        lambda: send(desk, sent, at="2027-01-01T00:00:00Z"),
        lambda: remove_estimate(desk, sent),
    ):
        with pytest.raises(Refused) as caught:
            edit()
        assert caught.value.code == "estimate.sent"
    assert desk.store.get(Estimate, sent.id) == sent


def test_an_estimate_altered_behind_its_back_is_told(desk, estimate):
    sent = send(desk, estimate, at=SENT)
    cheaper = replace(sent.sent, lines=(replace(sent.sent.lines[0], net=1), *sent.sent.lines[1:]))
    with desk.store.write(new_id(), "somebody") as work:
        work.put(replace(sent, sent=cheaper))
    with pytest.raises(Damaged) as caught:
        sheet_of(desk, sent)
    assert caught.value.code == "estimate.altered"


def test_a_new_edition_takes_todays_findings_and_leaves_the_old_one(desk, job, estimate, crack):
    sent = send(desk, estimate, at=SENT)
    before = sheet_of(desk, sent)
    type_measurement(desk, crack, Measurement("length", 200.0, "mm", 0.9, "rule"), overrules=True)
    second = new_edition(desk, sent)
    assert (second.edition, second.sent_at, second.answers) == (2, "", ())
    assert sheet_of(desk, second).lines[0].quantity == Decimal("20.0")
    assert sheet_of(desk, sent) == before
    assert [one.edition for one in estimates_of(desk, job)] == [1, 2]
    with pytest.raises(Refused) as caught:
        new_edition(desk, sent)
    assert caught.value.code == "estimate.open_there"


def test_answers_line_by_line_make_the_sum_that_was_agreed(desk, estimate):
    sent = send(desk, estimate, at=SENT)
    first, second = sent.sent.lines
    answered = answer(desk, sent, first.id, "accepted", at="2026-11-21T10:00:00Z")
    answered = answer(desk, answered, second.id, "declined", "leave the holes", at="2026-11-21T10:00:00Z")
    totals = accepted_totals(desk, answered)
    assert (totals.net, totals.tax, totals.gross) == (11100, 2220, 13320)
    assert sheet_of(desk, answered) == sheet_of(desk, sent)
    assert [one.words for one in answered.answers] == ["", "leave the holes"]
    back = answer(desk, answered, second.id, "", at="2026-11-22T10:00:00Z")
    assert [one.line_id for one in back.answers] == [first.id]


def test_nothing_is_answered_before_it_is_sent(desk, estimate):
    with pytest.raises(Refused) as caught:
        answer(desk, estimate, estimate.lines[0].id, "accepted")
    assert caught.value.code == "estimate.not_sent"


def test_one_of_several_options_is_taken(desk, job, shop_of):
    propose(desk, job, what="Level the frets", option_group="frets", chosen=True)
    propose(desk, job, what="Refret", option_group="frets", chosen=False)
    estimate = begin(desk, job)
    for line, rate in zip(estimate.lines, ("120", "380"), strict=True):
        estimate = keep_line(desk, estimate, replace(line, rate=Decimal(rate), quantity=Decimal(1)))
    assert sheet_of(desk, estimate).totals.net == 12000
    sent = send(desk, estimate, at=SENT)
    level, refret = sent.sent.lines
    answered = answer(desk, sent, refret.id, "accepted")
    assert {one.line_id: one.answer for one in answered.answers} == {level.id: "declined", refret.id: "accepted"}
    assert accepted_totals(desk, answered).net == 38000


def test_an_optional_line_counts_once_it_is_accepted(desk, job, shop_of):
    estimate = begin(desk, job)
    estimate = add_line(desk, estimate, EstimateLine(new_id(), "Setup", unit="fixed", rate=Decimal(90)))
    estimate = add_line(desk, estimate, EstimateLine(new_id(), "Case", unit="each", rate=Decimal(40), optional=True,
                                                     quantity=Decimal(1)))  # fmt: skip
    sent = send(desk, estimate, at=SENT)
    assert sent.sent.totals.net == 9000
    for line in sent.sent.lines:
        sent = answer(desk, sent, line.id, "accepted")
    assert accepted_totals(desk, sent).net == 13000


def test_a_dearer_variant_has_its_own_rate(desk, job, shop_of):
    entry = next(one for one in price_book(desk) if one.unit == "fret")
    estimate = begin(desk, job)
    for variant in ("", "set neck with bound board"):
        line = EstimateLine(new_id(), price_id=entry.id, variant=variant, quantity=Decimal(20))
        estimate = add_line(desk, estimate, line)
    assert [line.work for line in sheet_of(desk, estimate).lines] == [28000, 43000]


def test_what_cannot_be_priced_is_told_and_not_sent(desk, job, shop_of):
    bare = propose(desk, job, what="Look into it")
    estimate = begin(desk, job)
    assert {one.code for one in troubles_of(desk, estimate)} == {"estimate.no_rate"}
    with pytest.raises(Refused) as caught:
        send(desk, estimate, at=SENT)
    assert caught.value.code == "estimate.no_rate"
    assert caught.value.values["line"] == bare.what


def test_an_entry_in_another_currency_is_never_taken_as_if_it_were_this_one(desk, job, crack):
    propose(desk, job, "finding", crack.id, what="Glue the crack")
    estimate = begin(desk, job)
    estimate = keep_estimate(desk, replace(estimate, currency="JPY"))
    assert "estimate.other_currency" in {one.code for one in troubles_of(desk, estimate)}
    assert sheet_of(desk, estimate).totals.net == 0


def test_a_discount_and_untaxed_outside_work(desk, job, shop_of):
    estimate = begin(desk, job)
    estimate = add_line(desk, estimate, EstimateLine(new_id(), "Work", unit="fixed", rate=Decimal("100")))
    outside = EstimateLine(new_id(), "Winding", unit="fixed", rate=Decimal("50"), outside=True, taxed=False)
    estimate = add_line(desk, estimate, outside)
    estimate = keep_estimate(desk, replace(estimate, discount_percent=Decimal(10)))
    sheet = sheet_of(desk, estimate)
    assert [(line.discount, line.tax) for line in sheet.lines] == [(1000, 1800), (500, 0)]
    assert (sheet.totals.net, sheet.totals.discount, sheet.totals.tax, sheet.totals.gross) == (15000, 1500, 1800, 15300)


def test_an_edition_that_was_not_sent_can_be_taken_away_and_put_back(desk, job, estimate):
    second = new_edition(desk, send(desk, estimate, at=SENT))
    remove_estimate(desk, second)
    assert [one.edition for one in estimates_of(desk, job)] == [1]
    assert put_back_estimate(desk, second.id).lines == second.lines
    assert [one.edition for one in estimates_of(desk, job)] == [1, 2]


def test_a_line_changed_elsewhere_meanwhile_is_not_overwritten(desk, estimate):
    line = estimate.lines[0]
    keep_line(desk, estimate, replace(line, quantity=Decimal(3)))
    with pytest.raises(Stale):
        keep_line(desk, estimate, replace(line, quantity=Decimal(9)))
    assert desk.store.get(Estimate, estimate.id).lines[0].quantity == 3

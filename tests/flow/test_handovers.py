"""Who has it: the latest change of hands says so, parts apart; papers and invoices stay with the job through an
archive."""

from __future__ import annotations

import io
from dataclasses import replace
from decimal import Decimal

import pypdf
import pytest

from condition.errors import Refused
from condition.flow.archiving import archive_job, restore_job, verify
from condition.flow.costs import add_cost, cost_to_date
from condition.flow.desk import Desk
from condition.flow.estimate_papers import estimate_paper, send_estimate, sent_paper
from condition.flow.estimates import add_line, answer_all, begin, latest, new_edition, send, sheet_of
from condition.flow.handover_papers import case_label, handover_paper, specialist_paper, told_whereabouts
from condition.flow.handovers import (
    file_paper,
    hand_over,
    handovers_of,
    keep_handover,
    must_not_touch,
    papers_of,
    prepare,
    put_back_handover,
    remove_handover,
    sign,
    where_is,
)  # fmt: skip
from condition.flow.people import person_named
from condition.flow.plan import plan, propose
from condition.flow.shop import keep_shop, shop
from condition.records.estimate import EstimateLine
from condition.records.handover import Handover, Packed
from condition.records.job import Job
from condition.store import Store


@pytest.fixture
def winder(desk):
    return person_named(desk, "W. Inder", "specialist", "1 Coil Street")


@pytest.fixture
def luthier(desk):
    return person_named(desk, "L. Uthier", "specialist")


def text_of(data: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages).split())


def test_a_job_without_handovers_is_here(desk, job):
    where = where_is(desk, job)
    assert (where.place, where.person, where.since) == ("here", None, job.opened_at)


def test_the_latest_change_of_hands_says_where_it_is(desk, job, luthier):
    prepare(desk, job, "intake", handed_at="2026-11-17T09:00:00Z", due_on="2027-02-10")
    assert (where_is(desk, job).place, where_is(desk, job).due) == ("here", "2027-02-10")
    out = prepare(desk, job, "out", taker_id=luthier.id, handed_at="2026-11-24T09:00:00Z", due_on="2027-01-29")
    where = where_is(desk, job)
    assert (where.place, where.person, where.since, where.due) == (
        "out", luthier, "2026-11-24T09:00:00Z", "2027-01-29",
    )  # fmt: skip
    assert where.overdue("2027-01-30")
    assert not where.overdue("2027-01-29")
    back = prepare(desk, job, "back", giver_id=luthier.id, handed_at="2027-01-29T09:00:00Z")
    assert back.out_id == out.id
    assert where_is(desk, job).place == "here"
    prepare(desk, job, "returned", taker_id=job.client_id, handed_at="2027-02-10T09:00:00Z")
    assert (where_is(desk, job).place, where_is(desk, job).person.id) == ("returned", job.client_id)
    assert where_is(desk, job, "2026-12-24T00:00:00Z").person == luthier


def test_a_part_may_be_out_while_the_instrument_is_here(desk, job, winder):
    out = prepare(
        desk, job, "out", thing="part", part_words="pickup", taker_id=winder.id, handed_at="2026-11-24T09:00:00Z"
    )
    where = where_is(desk, job)
    assert where.place == "here"
    assert [(part.words, part.person) for part in where.parts_out] == [("pickup", winder)]
    back = prepare(desk, job, "back", thing="part", handed_at="2027-01-22T09:00:00Z")
    assert (back.out_id, back.part_words) == (out.id, "pickup")
    assert not where_is(desk, job).parts_out
    remove_handover(desk, back)
    assert where_is(desk, job).parts_out
    put_back_handover(desk, back.id)
    assert not where_is(desk, job).parts_out


def test_what_is_only_prepared_does_not_count(desk, job, luthier):
    ready = prepare(desk, job, "out", taker_id=luthier.id)
    assert where_is(desk, job).place == "here"
    hand_over(desk, ready, at="2026-11-24T09:00:00Z")
    assert where_is(desk, job).place == "out"


@pytest.mark.parametrize(
    ("fields", "code"),
    [
        ({"step": "back"}, "handover.nothing_out"),
        ({"step": "out", "thing": "part"}, "handover.no_part"),
        ({"step": "out", "due_on": "tomorrow"}, "plan.no_day"),
        ({"step": "out", "value_minor": -1}, "money.negative"),
        ({"step": "out", "currency": "XXX"}, "money.unknown_currency"),
    ],
)
def test_what_cannot_be_is_refused_in_a_sentence(desk, job, fields, code):
    with pytest.raises(Refused) as caught:
        prepare(desk, job, **fields)
    assert caught.value.code == code
    assert not handovers_of(desk, job)


def test_nothing_comes_back_before_it_went_out(desk, job):
    prepare(desk, job, "out", handed_at="2026-11-24T09:00:00Z")
    with pytest.raises(Refused) as caught:
        prepare(desk, job, "back", handed_at="2026-11-23T09:00:00Z")
    assert caught.value.code == "handover.before"


def sent_out(desk, job, winder) -> Handover:
    return prepare(
        desk,
        job,
        "out",
        thing="part",
        part_words="pickup and its lead",
        taker_id=winder.id,
        handed_at="2026-11-24T12:00:00Z",
        due_on="2027-01-25",
        value_minor=1234567,
        packed=(Packed("part", "pickup"), Packed("bag", "screws", 2)),
        asked="Mend the lead, do not rewind.",
        untouched="The coil and its wrapping.",
        fragile="The thin ends.",
        keep="The original coil.",
    )


def test_the_paper_to_sign_tells_everything_and_the_specialists_sheet_what_is_theirs(desk, job, winder):
    """A custody paper names giver, taker, object, packing, value and condition (Spectrum 5.0, from memory)."""
    keep_shop(desk, replace(shop(desk), name="Tolland Bench"))
    one = sign(desk, sent_out(desk, job, winder), "W. Inder")
    paper = text_of(handover_paper(desk, one))
    for fact in (
        "pickup and its lead",
        "W. Inder",
        "1 Coil Street",
        "12 345.67 EUR",
        "2 × bag: screws",
        "2027-01-25",
    ):
        assert fact in paper
    sheet = text_of(specialist_paper(desk, one))
    for fact in ("Mend the lead, do not rewind.", "The coil and its wrapping.", "The thin ends.", "The original coil."):
        assert fact in sheet
    for withheld in ("345.67", "A. Client"):
        assert withheld not in sheet
    label = text_of(case_label(desk, one))
    assert "W. Inder" in label
    assert "345.67" not in label


def test_the_same_handover_gives_the_same_bytes(desk, job, winder):
    one = sent_out(desk, job, winder)
    assert handover_paper(desk, one) == handover_paper(desk, one)
    assert specialist_paper(desk, one) == specialist_paper(desk, one)


def test_the_command_lines_answer(desk, job, winder):
    sent_out(desk, job, winder)
    told = told_whereabouts(desk, job)
    assert told["where"] == "here"
    assert told["parts_out"] == [
        {"part": "pickup and its lead", "with": "W. Inder", "since": "2026-11-24T12:00:00Z", "due": "2027-01-25"}
    ]


def test_an_archive_carries_plan_estimate_handovers_and_the_invoice(desk, job, winder, tmp_path):
    treatment = propose(desk, job, what="Mend the lead", action="send out")
    estimate = begin(desk, job)
    estimate = add_line(desk, estimate, EstimateLine("0" * 8, "Setup", unit="fixed", rate=Decimal("75.00")))
    lines = [line for line in estimate.lines if line.treatment_id]
    estimate = keep_first_priced(desk, estimate, lines[0])
    sent = answer_all(desk, send_estimate(desk, estimate, at="2026-11-19T09:00:00Z"), "accepted")
    paper = sent_paper(desk, sent)
    one = sent_out(desk, job, winder)
    file_paper(desk, job, one, "invoice 118.pdf", b"%PDF-1.7 invoice", "invoice")
    add_cost(desk, job, "paid for it", "auction", 45000, day="2026-10-01")
    assert verify(archive_job(desk, job, tmp_path / "bag")).ok
    with Store.open(tmp_path / "other") as store:
        other = Desk(store, "other")
        back = restore_job(other, tmp_path / "bag")
        restored = latest(other, back)
        assert sheet_of(other, restored) == sheet_of(desk, sent)
        assert restored.answers == sent.answers
        assert sent_paper(other, restored) == paper == estimate_paper(other, restored)
        (again,) = handovers_of(other, back)
        assert replace(again, version=one.version) == desk.store.get(Handover, one.id)
        (invoice,) = papers_of(other, back, again)
        assert (invoice.nature, store.vault.path(invoice.sha256).read_bytes()) == ("invoice", b"%PDF-1.7 invoice")
        assert where_is(other, back).parts_out[0].person.name == "W. Inder"
        assert [entry.treatment.what for entry in plan(other, back)] == [treatment.what]
        assert cost_to_date(other, back).paid == 45000


def keep_first_priced(desk, estimate, line):
    from condition.flow.estimates import keep_line

    return keep_line(desk, estimate, replace(line, rate=Decimal("65.00"), outside=True))


def test_own_stock_adds_up_against_what_was_paid(desk, job):
    from condition.flow.costs import line_done
    from condition.flow.jobs import describe
    from condition.records.instrument import Instrument

    describe(desk, replace(job, own_stock=True), desk.store.get(Instrument, job.instrument_id), None)
    own = desk.store.get(Job, job.id)
    add_cost(desk, own, "paid for it", "market", 30000, day="2026-10-01")
    estimate = begin(desk, own)
    for words, rate in (("Crack", "90.00"), ("Setup", "75.00")):
        estimate = add_line(
            desk, estimate, EstimateLine(words, words, unit="fixed", rate=Decimal(rate), quantity=Decimal(1))
        )
    crack = sheet_of(desk, estimate).lines[0]
    line_done(desk, own, estimate, crack, day="2026-11-01")
    so_far = cost_to_date(desk, own)
    assert (so_far.paid, so_far.spent, so_far.total, so_far.to_come) == (30000, 9000, 39000, 7500)
    with pytest.raises(Refused) as caught:
        line_done(desk, own, estimate, crack)
    assert caught.value.code == "cost.done_before"
    new_edition(desk, send(desk, estimate))
    assert (cost_to_date(desk, own).total, cost_to_date(desk, own).to_come) == (39000, 7500)


def test_a_signature_can_be_taken_back(desk, job, winder):
    one = sign(desk, sent_out(desk, job, winder), " W.  Inder ", at="2026-11-24T13:00:00Z")
    assert (one.signed_by, one.signed_at) == ("W. Inder", "2026-11-24T13:00:00Z")
    assert sign(desk, one, "").signed_at == ""
    assert keep_handover(desk, desk.store.get(Handover, one.id)).signed_by == ""


def test_parts_of_the_list_go_out_and_come_back_to_the_bench(desk, job, winder):
    from condition.flow.parts import add_part, leave_undisturbed, left_undisturbed
    from condition.records.part import Part

    pickup = add_part(desk, job, "pickup")
    leave_undisturbed(desk, add_part(desk, job, "volume control"), "its solder is its date")
    propose(desk, job, action="leave", what="Arm wear on the top")
    assert must_not_touch(desk, job).splitlines() == ["volume control: its solder is its date", "Arm wear on the top"]
    assert left_undisturbed(desk, job)
    prepare(
        desk,
        job,
        "out",
        thing="part",
        part_ids=(pickup.id,),
        taker_id=winder.id,
        handed_at="2026-11-24T09:00:00Z",
    )
    assert (desk.store.get(Part, pickup.id).place, desk.store.get(Part, pickup.id).out_to) == ("out", "W. Inder")
    prepare(desk, job, "back", thing="part", handed_at="2027-01-22T09:00:00Z")
    assert desk.store.get(Part, pickup.id).place == "bench"

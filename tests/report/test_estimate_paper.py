"""The estimate on paper shows what a quote of the trade shows (common practice), in any currency and any length."""

from __future__ import annotations

import io
from dataclasses import replace
from decimal import Decimal

import pikepdf
import pypdf
import pytest

from condition.flow.estimate_sheets import summed
from condition.records.estimate import EstimateSheet, SheetLine, Totals
from condition.report.estimate_paper import estimate_pdf
from condition.trade.money import shown


def line(number: int, **other) -> SheetLine:
    values = {
        "id": f"line {number}", "words": f"Glue crack {number}", "why": "it runs on", "finding": number,
        "measured": "148.2 ± 0.9 mm", "quantity": Decimal("14.8"), "unit": "cm", "rate": Decimal("7.50"), "minimum": 0,
        "at_minimum": False, "work": 11100, "materials": 250, "materials_words": "hide glue", "net": 11350,
        "discount": 0, "tax": 0, "counted": True, "optional": False, "option_group": "", "chosen": True,
        "outside": False, "outside_who": "", "taxed": True,
    }  # fmt: skip
    return SheetLine(**values | other)


def sheet(*lines: SheetLine, **other) -> EstimateSheet:
    values = {
        "number": "2026-001/E1", "edition": 1, "job_name": "2026-001", "instrument": "Test mandolin", "serial": "41",
        "client_name": "A. Client", "client_address": "1 Lane", "client_contact": "a@client.example",
        "shop_name": "Tolland Bench", "shop_address": "3 Reed Lane", "shop_contact": "", "examiner": "M. Tolland",
        "binding": False, "currency": "EUR", "rounding": "half up", "tax_on": "total", "tax_name": "VAT",
        "tax_percent": Decimal(20), "discount_percent": Decimal(5), "discount_fixed": 0,
        "discount_words": "for the long wait", "deposit_percent": Decimal(30), "stop_above": 15000,
        "lead_time": "six weeks", "terms": "Storage after 60 days.", "intro": "Thank you.", "included": "Fetching.",
        "not_included": ("Fret work",), "dated": "2026-11-19", "valid_until": "2026-12-17", "lines": (),
        "totals": Totals(0, 0, 0, 0, 0, 0),
    }  # fmt: skip
    return summed(EstimateSheet(**values | other), lines)


def text_of(data: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages).split())


def test_it_shows_what_a_quote_has_to_show():
    """Number, date, validity, client, object, scope, lines, net, tax, gross, deposit, balance, lead time, hidden
    damage, storage, approval, the rule of rounding, and whether it binds: common practice of the trade."""
    paper = sheet(line(1), line(2, optional=True, counted=False), line(3, outside=True, outside_who="Y. M."))
    text = text_of(estimate_pdf(paper, sha256="ab" * 32))
    sums = paper.totals
    for told in (
        "2026-001/E1", "2026-11-19", "2026-12-17", "A. Client", "1 Lane", "Test mandolin", "41", "Tolland Bench",
        "Glue crack 1", "14.8 cm × 7.50", "finding 1, measured 148.2 ± 0.9 mm", "hide glue", "outside work by Y. M.",
        "VAT 20 %", "for the long wait 5 %", "Deposit 30 %", "six weeks", "150.00 EUR", "Storage after 60 days.",
        "Fetching.", "Fret work", "forecast", "half up", "ab" * 32, "Agreed",
    ):  # fmt: skip
        assert told in text, told
    for minor in (sums.net, -sums.discount, sums.tax, sums.gross, sums.deposit, sums.balance):
        assert shown(minor, "EUR") in text
    assert "draft" not in text


def test_a_draft_says_so_and_a_quote_says_that_it_binds():
    assert "draft, not sent" in text_of(estimate_pdf(sheet(line(1))))
    text = text_of(estimate_pdf(sheet(line(1), binding=True), sha256="ab" * 32))
    assert "Quote" in text
    assert "forecast" not in text


@pytest.mark.parametrize(("code", "amount"), [("JPY", "11\u202f350 JPY"), ("KWD", "11.350 KWD"), ("CLF", "1.1350 CLF")])
def test_amounts_have_the_places_of_their_currency(code, amount):
    """ISO 4217: 0, 3 and 4 places."""
    assert " ".join(amount.split()) in text_of(estimate_pdf(sheet(line(1), currency=code)))


def test_the_same_sheet_gives_the_same_bytes_and_answers_change_only_the_ticks():
    paper = sheet(line(1), line(2))
    assert estimate_pdf(paper, sha256="ab" * 32) == estimate_pdf(paper, sha256="ab" * 32)
    answered = estimate_pdf(paper, sha256="ab" * 32, answers={"line 1": "accepted", "line 2": "declined"})
    assert text_of(answered) == text_of(estimate_pdf(paper, sha256="ab" * 32))
    assert answered != estimate_pdf(paper, sha256="ab" * 32)


def test_many_lines_with_long_words_and_markup_are_all_set():
    lines = [line(n, words=f"Line {n} <b>&", why="Long. " * 40) for n in range(1, 61)]
    lines.append(line(61, words="Endless " * 600))
    paper = sheet(*lines, client_address="Faraway. " * 400, shop_contact="ring\n" * 90)
    text = text_of(estimate_pdf(paper, sha256="ab" * 32))
    assert text.count("Faraway.") == 400
    assert all(f"Line {n} <b>&" in text for n in range(1, 61))
    assert text.count("Endless") >= 600
    assert text.count("Long.") == 60 * 40


def test_the_paper_says_what_it_is_and_holds_nothing_else():
    data = estimate_pdf(sheet(line(1)), sha256="ab" * 32)
    with pikepdf.open(io.BytesIO(data)) as pdf:
        assert pdf.Root.Lang == "en"
        assert not pdf.attachments
        assert str(pdf.docinfo["/CreationDate"]) == "D:20261119000000Z"
    assert replace(sheet(line(1)), dated="2026-11-20") != sheet(line(1))

"""A look before buying: five photos, claims, price and receipt on one sheet."""

from __future__ import annotations

from dataclasses import replace

import pypdf
import pytest

from condition.errors import Refused
from condition.flow.archiving import archive_job, restore_job
from condition.flow.buying import (
    SLOTS,
    begin_look,
    buying_sheet,
    keep_look,
    keep_receipt,
    look_of,
    name_serial,
    receipts_of,
    slot_photos,
)
from condition.flow.desk import open_desk
from condition.flow.intake import take_in
from condition.flow.jobs import view_named
from tests.browser import ROOT
from tests.flow.test_watched import picture
from tests.report.pdf_contents import everything, shown_text


def test_a_look_makes_one_sheet(desk, tmp_path):
    job = begin_look(desk, "Tired octave mandolin", family="octave mandolin")
    look = replace(look_of(desk, job), claims=("All original", " ", "Never repaired"), asking_typed="1 850,50",
                   currency="eur", seller="A. Seller", worries="Head joint?")  # fmt: skip
    look = keep_look(desk, look)
    assert (look.asking_minor, look.currency, look.claims) == (185050, "EUR", ("All original", "Never repaired"))
    name_serial(desk, job, " 4417 ")
    keep_receipt(desk, job, "slip.jpg", picture(1))
    for n, slot in enumerate(SLOTS[:4]):
        view = view_named(desk, job, slot)
        source = picture(n) if n else (ROOT / "demo_images" / "closeup_bridge.jpg").read_bytes()
        (taken,) = take_in(desk, job, [(f"{n}.jpg", source)], view_id=view.id)
        assert taken.photo
    sheet = buying_sheet(desk, job, tmp_path / "sheet.pdf")
    assert len(pypdf.PdfReader(sheet).pages) == 1
    text = shown_text(sheet)
    for words in (
        "1\u202f850.50 EUR",
        "All original",
        "Never repaired",
        "4417",
        "Head joint?",
        "A. Seller",
        "slip.jpg",
    ):
        assert " ".join(words.split()) in " ".join(text.split())
    assert text.count("no photo") == 1
    assert b"Exif\x00\x00" not in everything(sheet)


def test_the_newest_photo_of_a_face_stands_on_the_sheet(desk):
    job = begin_look(desk, "Tired banjo")
    view = view_named(desk, job, "front")
    for n in (1, 2):
        take_in(desk, job, [(f"{n}.jpg", picture(n))], view_id=view.id)
    assert slot_photos(desk, job)["front"].file_name == "2.jpg"
    assert slot_photos(desk, job)["back"] is None


def test_two_looks_on_one_day_have_two_names(desk):
    assert begin_look(desk, "A").name != begin_look(desk, "B").name


def test_what_cannot_be_is_refused(desk, job, tmp_path):
    with pytest.raises(Refused, match=r"buying\.no_title"):
        begin_look(desk, "  ")
    with pytest.raises(Refused, match=r"buying\.no_look"):
        buying_sheet(desk, job, tmp_path / "x.pdf")
    look = look_of(desk, begin_look(desk, "C"))
    with pytest.raises(Refused, match=r"money\."):
        keep_look(desk, replace(look, asking_typed="cheap"))
    with pytest.raises(Refused, match=r"money\."):
        keep_look(desk, replace(look, currency="XQQ"))


def test_a_look_goes_into_its_archive(desk, tmp_path):
    job = begin_look(desk, "Tired banjo")
    keep_look(desk, replace(look_of(desk, job), claims=("All original",)))
    keep_receipt(desk, job, "slip.jpg", picture(1))
    other = open_desk(tmp_path / "other")
    restored = restore_job(other, archive_job(desk, job, tmp_path / "bag"))
    assert look_of(other, restored).claims == ("All original",)
    assert receipts_of(other, restored)[0].file_name == "slip.jpg"

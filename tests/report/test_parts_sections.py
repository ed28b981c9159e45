"""Parts, strip-down and cautions on paper: what was judged, what was not, what is left over, and nothing more."""

from __future__ import annotations

from dataclasses import replace

import pytest
from pypdf import PdfReader

from condition.flow import parts
from condition.flow.bags import begin_bag
from condition.flow.sheets import condition_sheet
from condition.flow.strip_down import put_back, stop_too_fragile, take_off
from condition.records.reader import PaperFace
from condition.records.strip_down import Screws
from condition.report.cautions_section import cautions
from condition.report.document import compile_pdf
from condition.report.parts_section import parts as parts_of_the_paper
from condition.report.strip_down_section import strip_down

SECTIONS = ("parts", "strip_down", "cautions")


@pytest.fixture
def sheet(desk, job):
    nut = parts.add_part(
        desk, job, "nut", "neck", originality="home-made", sure="sure", judged_by="M. Example",
        claim="First nut, says the owner.", observation="File marks on its face.", interpretation="Made by hand.",
    )  # fmt: skip
    parts.add_evidence(desk, nut, kind="factory finish", speaks="against", words="The slot is wider than the nut.")
    parts.add_evidence(desk, nut, kind="seller's claim", speaks="neither", words="All original, says the seller.")
    block = parts.add_part(desk, job, "neck block", "body", originality="original")
    parts.add_evidence(desk, block, kind="serial inside", words="Number 4711 in ink.")
    parts.add_part(desk, job, "binding", "body", code="binding", material="celluloid", observation="Cream.")
    parts.add_part(desk, job, "pickguard", code="pickguard", place="not there", observation="There is none.")
    parts.add_part(desk, job, "braces", "body")
    cover = take_off(desk, job, "cover", screws=[Screws(4, "corners")], bag_number=1, wires="ground, unsoldered")
    stop_too_fragile(desk, job, "label", "It flakes.")
    put_back(desk, cover, [3], over_reason="Stripped.")
    begin_bag(desk, job, "spares", 2)
    return condition_sheet(desk, job)


def paper(sheet, tmp_path, sections=SECTIONS) -> str:
    out = tmp_path / "paper.pdf"
    compile_pdf(sheet, photo_pixels=None, out=out, sections=sections)
    return " ".join(" ".join(page.extract_text() for page in PdfReader(out).pages).split())


def test_the_parts_are_told_with_what_speaks_for_and_against(sheet, tmp_path):
    text = paper(sheet, tmp_path)
    for words in (
        "2 of the 6 parts on the list were judged.",
        "They are: 1 original, 1 later.",
        "later: home-made",
        "sure, by M. Example",
        "First nut, says the owner.",
        "The slot is wider than the nut.",
        "celluloid, suspected, not tested",
        "It is a judgement, not a proof.",
        "On the list, not examined braces",
        "label: It flakes.",
    ):
        assert words in text, words


def test_the_log_ends_with_what_is_left_over(sheet, tmp_path):
    text = paper(sheet, tmp_path)
    assert "4 screws, corners" in text
    assert "Stopped, too fragile: It flakes." in text
    assert "Bags left: 1, screws left: 1." in text
    assert "Step 1, cover: 1 screw is over. Stripped." in text


def test_cautions_name_what_they_concern_and_nothing_that_is_not_there(sheet, tmp_path):
    text = paper(sheet, tmp_path, ("cautions",))
    assert "Concerns: binding" in text
    assert "pickguard" not in text
    assert "CCI Notes 15/3" in text
    assert "Lead in solder" in text
    assert "Local rules and licensed practice decide" in text


def test_what_a_reader_is_not_to_see_is_not_there(sheet, tmp_path):
    text = paper(replace(sheet, face=PaperFace("public", ("claims", "serials"))), tmp_path)
    assert "says the seller" not in text
    assert "4711" not in text
    assert "serial repeated inside" in text


def test_a_job_without_parts_or_steps_has_no_such_sections(desk, job, tmp_path):
    sheet = condition_sheet(desk, job)

    assert [section(sheet, None) for section in (parts_of_the_paper, strip_down, cautions)] == [[], [], []]

"""The report's sections of the bench: read back from the PDF."""

from __future__ import annotations

import re
from dataclasses import replace

import pypdf
import pytest

from condition.flow.codes import note_stamp
from condition.flow.faults import edit_fault, note_fault, set_try
from condition.flow.function_test import lay_out, listed, tried
from condition.flow.papers import condition_report
from condition.flow.readings import type_coil, type_reading
from condition.flow.sheets import condition_sheet
from condition.flow.strings import keep_strings, strings_at
from condition.records.reading import Coil
from condition.report.fretboard import Written, draw_fretboard, fretboard_svg, written


def text_of(path):
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(path).pages).split())


@pytest.fixture
def told(desk, job):
    coil = Coil(control_typed="250 k", meter_percent=0.8, meter_digits=3, temperature_typed="23", tone="still")
    for occasion, humidity, action in (("intake", "45 %", "3.4 mm"), ("returned", "46 %", "2.2 mm")):
        type_reading(desk, job, "humidity", humidity, occasion=occasion)
        type_reading(desk, job, "temperature", "20.5 °C", occasion=occasion)
        for string in (1, 2):
            type_reading(desk, job, "action", action, occasion=occasion, string=string, fret=12)
        keep_strings(desk, strings_at(desk, job, occasion))
        type_coil(desk, job, "jack", "7.75 k", coil, occasion=occasion)
        lay_out(desk, job, occasion)
    tried(desk, listed(desk, job, "intake")[0], "stiff", "an odd turn")
    fault = note_fault(desk, job, "hum", where="by the lamp", heard_when="strings not touched")
    fault = set_try(desk, fault, 0, effect="stops it", again="no change")
    edit_fault(desk, replace(fault, retest="gone"))
    note_stamp(desk, job, "volume control", "source date", left_unread=True, reason="its solder is undisturbed")
    note_stamp(desk, job, "tone control", "source date", "137634")
    return job


def test_the_report_tells_before_and_after(desk, told, tmp_path):
    """EL-32's coil, EL-63's open decade; action beyond its ± under like air is 'changed'."""
    text = text_of(condition_report(desk, told, tmp_path / "report.pdf"))
    assert "Action, strings 2, 1, fret 12" in text
    assert re.search(r"3\.4 mm · 3\.4 mm 2\.2 mm · 2\.2 mm -1\.200 ± 0\.095 mm changed", text)
    assert "7.75 ± 0.11 kΩ" in text
    assert "volume control 250 k ± 20 %" in text
    assert "No resistance by itself says that a pickup is good" in text
    assert "stiff: an odd turn" in text
    assert "1946, 1956, 1966, 1976" in text
    assert "its solder is undisturbed" in text
    assert "Touch the strings" in text


def test_nothing_from_the_bench_is_no_section(desk, job, tmp_path):
    text = text_of(condition_report(desk, job, tmp_path / "report.pdf"))
    assert not any(word in text for word in ("Readings", "Function test", "Faults", "Stamps and codes"))


def test_the_board_shows_what_was_read(desk, told):
    sheet = condition_sheet(desk, told)
    spots = written(sheet.bench.readings)
    assert spots[("action", 1, 12)].text == "3.4 → 2.2"
    assert Written("0.5", "0.5").text == "0.5"
    drawn, height = draw_fretboard(sheet.bench.strings[0].strings.strings, spots)
    assert drawn
    assert 40 < height < 120
    svg = fretboard_svg(sheet.bench.strings[0].strings.strings, spots, 800)
    assert svg.count("3.4 → 2.2") == 2


def test_typed_text_is_safe_in_the_picture(desk, told):
    svg = fretboard_svg(strings_at(desk, told, "intake").strings, {("relief", None, 7): Written("<script>&")}, 800)
    assert "<script>" not in svg
    assert "&lt;script&gt;&amp;" in svg

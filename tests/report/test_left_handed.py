"""An instrument strung for a left-handed player, on the paper and on the picture of its fingerboard.

Common practice: with the neck up, seen from the front, the bass string of a right-handed instrument runs on the left,
that of a left-handed one on the right; laid with the nut to the left, at the bottom and on top.
"""

from __future__ import annotations

import re
from dataclasses import replace
from uuid import uuid4

import numpy as np
import pypdf
import pytest
from cameras import card_outline, over_bench

from condition.flow import examination, marked, scales
from condition.flow.bench_picture import fretboard_picture
from condition.flow.finding_rows import finding_rows
from condition.flow.jobs import describe, job_card, view_named
from condition.flow.readings import type_reading
from condition.flow.sheets import condition_sheet
from condition.flow.strings import strings_across
from condition.records.photo import Photo
from condition.records.plane import SizeCard
from condition.report.document import compile_pdf

CAMERA = over_bench(tilt=6, azimuth=30, roll=0, distance=600, focal=2900, width=2000, height=1500)


def strung_for(desk, job, hand):
    card = job_card(desk, job)
    return describe(desk, job, replace(card.instrument, handedness=hand), card.client).instrument


@pytest.fixture
def examined(desk, job, monkeypatch):
    """A body 160 mm wide in a photo with the neck up, with a dent near its left edge."""
    monkeypatch.setattr(marked, "pixels_of", lambda desk, photo: None)
    cards = tuple(
        SizeCard(i, tuple(map(tuple, CAMERA.shoot(card_outline(x, y, 0.2 * i)).tolist())), 0.1)
        for i, (x, y) in enumerate([(-130, -90), (130, -90), (-130, 90), (130, 90)])
    )
    photo = Photo(
        str(uuid4()), job.id, "0" * 64, "front.jpg", "image/jpeg", 2000, 1500,
        focal_35mm=2900 * 43.2666 / 2500, cards=cards, view_id=view_named(desk, job, "front").id,
    )  # fmt: skip
    with desk.store.write(str(uuid4()), "tester") as work:
        work.put(scales.scaled(desk, photo))
    body = [[620.0, 250.0], [1380.0, 250.0], [1380.0, 1250.0], [620.0, 1250.0]]
    for kind, shape in (
        ("outline", {"shape": "ring", "points": body}),
        ("dent", {"shape": "ring", "points": [[700.0, 1000.0], [740.0, 1000.0], [740.0, 1040.0], [700.0, 1040.0]]}),
    ):
        mark = {"id": str(uuid4()), "photo_id": photo.id, "finding_id": None, "kind": kind, "shape": shape}
        assert examination.apply(desk, {"op": str(uuid4()), "do": "put", "version": 0, "mark": mark})["ok"]
    return job


def paper(desk, job, out):
    grey = np.full((1500, 2000, 3), 150, np.uint8)
    compile_pdf(condition_sheet(desk, job), photo_pixels=lambda _: grey, out=out)
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(out).pages).split())


def test_the_paper_names_the_other_side_and_says_how_it_is_strung(desk, examined, tmp_path):
    right = paper(desk, examined, tmp_path / "right.pdf")
    assert "top, bass side of the lower bout" in right
    assert "treble side" not in right
    assert "left-handed" not in right
    strung_for(desk, examined, "left")
    left = paper(desk, examined, tmp_path / "left.pdf")
    assert "top, treble side of the lower bout" in left
    assert "bass side" not in left
    assert re.search("strung for a left-handed player", left, re.IGNORECASE)
    assert [row.proposed for row in finding_rows(desk, examined)] == ["top, treble side of the lower bout"]


def heights(svg, notes):
    """Of each string's note in the picture, from its top."""
    found = {note: float(re.search(rf'<text[^>]*\by="([\d.]+)"[^>]*>{note}<', svg)[1]) for note in notes}
    return [found[note] for note in notes]


@pytest.mark.parametrize("hand", ["right", "left"])
def test_the_fields_and_the_board_s_picture_have_the_strings_as_they_lie(desk, job, hand):
    strung_for(desk, job, hand)
    notes = [string.note for string in strings_across(desk, job, "intake")]
    # a mandolin from its lowest course to its highest: G3 D4 A4 E5 (common practice)
    low_to_high = ["G3", "D4", "A4", "E5"]
    assert notes == (low_to_high if hand == "right" else low_to_high[::-1])
    type_reading(desk, job, "action", "1.9 mm", string=4, fret=12)
    down = heights(fretboard_picture(desk, job, "intake", 800), low_to_high)
    assert down == sorted(down, reverse=hand == "right")
    assert len(set(down)) == 4

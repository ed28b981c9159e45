"""Marks that a photo's scale does not safely reach, and one finding seen on two photos."""

from __future__ import annotations

import math
from dataclasses import replace
from uuid import uuid4

import numpy as np
import pytest
from cameras import card_outline, over_bench

from condition.flow.findings import measurements_of
from condition.flow.scale_check import arrows_told, off_the_plane, photos_off_the_plane, scale_shown, unsure_marks
from condition.flow.typed_in import DISAGREE
from condition.imaging.plane_from_cards import plane_from_cards
from condition.records.finding import Finding
from condition.records.mark import Mark
from condition.records.measurement import Contribution, Measurement
from condition.records.photo import Photo
from condition.records.plane import SizeCard
from condition.records.shapes import Circle

WIDTH, HEIGHT = 2000, 1500
CAMERA = over_bench(8, 30, 5, 600, 2200, WIDTH, HEIGHT)
PLACES = ((-110.0, -70.0), (110.0, -70.0), (-110.0, 70.0), (110.0, 70.0))


def leaning(outline: np.ndarray) -> np.ndarray:
    """A card on a part that leans by 15 degrees, as an angled headstock does."""
    lean = math.radians(15)
    middle = outline.mean(0)
    local = outline - middle
    turned = np.column_stack([local[:, 0] * math.cos(lean), local[:, 1], local[:, 0] * math.sin(lean)])
    return turned + middle + (0, 0, 8)


@pytest.fixture
def photo(desk, job) -> Photo:
    """Four cards, the last of them on a leaning part."""
    outlines = [card_outline(x, y, 0.2 * i) for i, (x, y) in enumerate(PLACES)]
    outlines[3] = leaning(outlines[3])
    cards = [SizeCard(i, tuple(map(tuple, CAMERA.shoot(o).tolist())), 0.1) for i, o in enumerate(outlines)]
    plane = plane_from_cards(cards, WIDTH, HEIGHT, 2200 / 2500 * math.hypot(36, 24))
    new = Photo(str(uuid4()), job.id, "0" * 64, "top.jpg", "image/jpeg", WIDTH, HEIGHT, cards=plane.cards, plane=plane)
    with desk.store.write(str(uuid4()), desk.person) as work:
        return work.put(new)


def at(x: float, y: float) -> Circle:
    px = CAMERA.shoot(np.array([[x, y, 0.0]]))[0]
    return Circle(float(px[0]), float(px[1]), 10.0)


def marked(desk, photo, shape, number: int, *values: float) -> Finding:
    finding = Finding(str(uuid4()), photo.job_id, number, "screw hole")
    with desk.store.write(str(uuid4()), desk.person) as work:
        kept = work.put(finding)
        for value in values or (3.0,):
            seen = Measurement("diameter", value, "mm", 0.1, "photo", "rim 1", parts=(Contribution("pick", 0.05),))
            work.put(Mark(str(uuid4()), photo.id, kept.id, shape, measurements=(seen,)))
    return kept


def test_marks_beside_a_leaning_card_and_far_from_all_are_told(desk, photo):
    assert [card.left_out for card in photo.plane.cards] == ["", "", "", "other plane"]
    assert off_the_plane(at(105, 75), photo.plane)
    assert not off_the_plane(at(0, -40), photo.plane)
    beside = marked(desk, photo, at(105, 75), 1)
    marked(desk, photo, at(-60, 0), 2)
    marked(desk, photo, at(-60, -330), 3)
    assert [(one.number, one.why) for one in unsure_marks(desk, photo)] == [(1, "off the plane"), (3, "far outside")]
    assert photos_off_the_plane(desk, beside) == ("top.jpg",)


def test_the_picture_is_drawn_as_it_is_told(desk, photo, monkeypatch):
    from condition.flow import scale_check

    monkeypatch.setattr(scale_check, "pixels_of", lambda *_: np.full((HEIGHT, WIDTH, 3), 90, np.uint8))
    shown = scale_shown(desk, photo)
    assert (shown.factor, shown.longest_px) == pytest.approx(arrows_told(photo))
    assert shown.step_mm == scale_check.grid_told(photo)
    assert shown.jpeg.startswith(b"\xff\xd8")


@pytest.mark.parametrize(("second", "told"), [(3.05, ""), (3.6, DISAGREE)])
def test_two_photos_of_one_hole_give_one_measurement(desk, photo, second, told):
    """Weights 1 / u2 (JCGM 100:2008, 5.1): of two as good ones the mean; apart by 8 u they are told to disagree."""
    finding = marked(desk, photo, at(0, 0), 1, 3.0)
    other = replace(photo, id=str(uuid4()), sha256="1" * 64, file_name="side.jpg", version=0)
    seen = Measurement("diameter", second, "mm", 0.1, "photo", "rim 1", parts=(Contribution("pick", 0.05),))
    with desk.store.write(str(uuid4()), desk.person) as work:
        work.put(other)
        work.put(Mark(str(uuid4()), other.id, finding.id, at(0, 0), measurements=(seen,)))
    (found,) = measurements_of(desk, finding)
    assert found.value == pytest.approx((3.0 + second) / 2)
    assert found.note == told
    least = (second - 3.0) / 2 if told else 0.1 / math.sqrt(2)
    assert found.expanded == pytest.approx(max(least, 0.1 / math.sqrt(2)))

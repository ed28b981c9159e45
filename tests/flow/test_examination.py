"""Marks as acknowledged operations: put, removed, brought back, never doubled, never lost to a second tab."""

from __future__ import annotations

import io
from dataclasses import replace
from uuid import uuid4

import numpy as np
import pytest
from cameras import card_outline, over_bench
from PIL import Image

from condition.errors import Refused
from condition.flow import examination, marked, scales
from condition.flow.findings import edit_finding, measurements_of, type_measurement
from condition.flow.intake import take_in
from condition.flow.jobs import view_named
from condition.flow.sheets import condition_sheet
from condition.records.finding import Finding
from condition.records.mark import Mark
from condition.records.measurement import Measurement
from condition.records.photo import Photo
from condition.records.plane import SizeCard
from tests.imaging.test_rim_support import body_photo

WIDTH, HEIGHT = 2000, 1500
FOCAL_35MM = 50.0
FOCAL_PX = FOCAL_35MM * 2500 / 43.2666
"""By the diagonal rule of CIPA DCG-001: the photo's diagonal is 2500 px, that of 36 x 24 mm is 43.2666 mm."""

CAMERA = over_bench(tilt=8, azimuth=30, roll=5, distance=600, focal=FOCAL_PX, width=WIDTH, height=HEIGHT)


def px(*points_mm: tuple[float, float]) -> list[list[float]]:
    """Where points of the bench appear, pixels."""
    return CAMERA.shoot(np.array([(x, y, 0.0) for x, y in points_mm])).tolist()


@pytest.fixture(autouse=True)
def _no_pixels(monkeypatch):
    """Hand-drawn shapes are measured without them."""
    monkeypatch.setattr(marked, "pixels_of", lambda desk, photo: None)


@pytest.fixture
def photo(desk, job):
    """A photo with four size cards seen exactly."""
    cards = tuple(
        SizeCard(i, tuple(map(tuple, CAMERA.shoot(card_outline(x, y, 0.2 * i)).tolist())), 0.1)
        for i, (x, y) in enumerate([(-110, -70), (110, -70), (-110, 70), (110, 70)])
    )
    view = view_named(desk, job, "front")
    new = Photo(
        str(uuid4()), job.id, "0" * 64, "front.jpg", "image/jpeg", WIDTH, HEIGHT,
        focal_35mm=FOCAL_35MM, cards=cards, view_id=view.id,
    )  # fmt: skip
    with desk.store.write(str(uuid4()), "tester") as work:
        return work.put(scales.scaled(desk, new))


def operation(photo, shape, kind="crack", do="put", mark_id=None, finding_id=None, version=0, op=None):
    return {
        "op": op or str(uuid4()),
        "do": do,
        "version": version,
        "mark": {
            "id": mark_id or str(uuid4()),
            "photo_id": photo.id,
            "finding_id": finding_id,
            "kind": kind,
            "shape": shape,
            "how": "hand",
        },
    }


def line(*points_mm):
    return {"shape": "line", "points": px(*points_mm)}


def ring(*points_mm, holes=()):
    return {"shape": "ring", "points": px(*points_mm), "holes": [px(*hole) for hole in holes]}


def measured(desk, answer, quantity):
    mark = desk.store.get(Mark, answer["mark"]["id"])
    return next(m for m in mark.measurements if m.quantity == quantity)


def test_a_crack_reads_its_length_at_once(desk, photo):
    answer = examination.apply(desk, operation(photo, line((-50, 0), (50, 0))))
    length = measured(desk, answer, "length")
    assert abs(length.value - 100.0) <= length.expanded
    assert length.expanded < 1.3
    assert "mm" in answer["mark"]["text"]


def test_an_area_leaves_its_holes_out(desk, photo):
    hole = [(-10, -5), (10, -5), (10, 5), (-10, 5)]
    shape = ring((-40, -20), (40, -20), (40, 20), (-40, 20), holes=[hole])
    area = measured(desk, examination.apply(desk, operation(photo, shape, "finish loss")), "area")
    assert abs(area.value - (80 * 40 - 20 * 10)) <= area.expanded


def test_numbers_go_up_and_are_not_used_again(desk, job, photo):
    first = examination.apply(desk, operation(photo, line((0, 0), (10, 0))))["mark"]
    assert first["number"] == 1
    examination.apply(desk, operation(photo, first["shape"], do="remove", mark_id=first["id"], version=1))
    assert not desk.store.find(Finding, job_id=job.id)
    assert examination.apply(desk, operation(photo, line((0, 0), (20, 0))))["mark"]["number"] == 2


def test_a_removed_mark_comes_back_with_its_number(desk, photo):
    drawn = examination.apply(desk, operation(photo, line((0, 0), (10, 0))))["mark"]
    examination.apply(desk, operation(photo, drawn["shape"], do="remove", mark_id=drawn["id"], version=1))
    again = operation(photo, drawn["shape"], mark_id=drawn["id"], finding_id=drawn["finding_id"])
    assert examination.apply(desk, again)["mark"]["number"] == 1


def test_a_repeated_operation_is_answered_again_not_done_again(desk, job, photo):
    once = operation(photo, line((0, 0), (10, 0)))
    assert examination.apply(desk, once) == examination.apply(desk, once)
    assert len(desk.store.find(Mark, photo_id=photo.id)) == 1
    assert len(desk.store.find(Finding, job_id=job.id)) == 1


def test_a_stale_change_is_told_and_shows_the_mark_as_it_stands(desk, photo):
    drawn = examination.apply(desk, operation(photo, line((0, 0), (10, 0))))["mark"]
    moved = operation(photo, line((0, 0), (30, 0)), mark_id=drawn["id"], finding_id=drawn["finding_id"], version=1)
    examination.apply(desk, moved)
    late = operation(photo, line((0, 0), (20, 0)), mark_id=drawn["id"], finding_id=drawn["finding_id"], version=1)
    answer = examination.apply(desk, late)
    assert not answer["ok"]
    assert answer["mark"]["version"] == 2


def test_words_keep_a_finding_when_its_last_mark_goes(desk, job, photo):
    drawn = examination.apply(desk, operation(photo, line((0, 0), (10, 0))))["mark"]
    finding = desk.store.get(Finding, drawn["finding_id"])
    edit_finding(desk, replace(finding, place="bass side"))
    examination.apply(desk, operation(photo, drawn["shape"], do="remove", mark_id=drawn["id"], version=1))
    assert len(desk.store.find(Finding, job_id=job.id)) == 1


def test_an_outline_becomes_the_face_and_places_the_marks_on_it(desk, job, photo):
    body = ring((-60, -90), (60, -90), (60, 90), (-60, 90))
    examination.apply(desk, operation(photo, body, "outline"))
    examination.apply(desk, operation(photo, line((-50, 0), (50, 0))))
    sheet = condition_sheet(desk, job)
    (face,) = sheet.views
    assert face.area.value == pytest.approx(120 * 180, rel=0.01)
    low = np.min(face.outline_mm.points, axis=0)
    high = np.max(face.outline_mm.points, axis=0)
    assert low[1] == pytest.approx(0, abs=0.01)
    assert high - low == pytest.approx([120, 180], abs=1)
    placed = sheet.findings[0].marks[0].shape_mm
    assert placed.points[0][1] == pytest.approx(90, abs=1)


def test_a_second_outline_of_a_face_is_refused(desk, photo):
    body = ring((-60, -90), (60, -90), (60, 90), (-60, 90))
    examination.apply(desk, operation(photo, body, "outline"))
    with pytest.raises(Refused) as refusal:
        examination.apply(desk, operation(photo, body, "outline"))
    assert refusal.value.code == "mark.second_outline"


def test_a_new_height_measures_every_mark_again(desk, photo):
    answer = examination.apply(desk, operation(photo, line((-50, 0), (50, 0))))
    before = measured(desk, answer, "length").value
    scales.set_scale(desk, replace(photo, surface_height_mm=30.0))
    after = measured(desk, answer, "length").value
    distance = 600 * np.cos(np.radians(8))
    assert after / before == pytest.approx((distance - 30) / distance, rel=0.02)


def test_a_typed_measurement_stands_beside_the_photo_or_before_it(desk, photo):
    drawn = examination.apply(desk, operation(photo, line((-50, 0), (50, 0))))["mark"]
    finding = desk.store.get(Finding, drawn["finding_id"])
    typed = Measurement("length", 100.02, "mm", 0.05, "calliper")
    finding = type_measurement(desk, finding, typed, overrules=False)
    assert next(m.source for m in measurements_of(desk, finding)) == "photo"
    finding = type_measurement(desk, finding, typed, overrules=True)
    assert measurements_of(desk, finding)[0] == typed


def test_without_a_scale_the_mark_says_why_it_reads_nothing(desk, job):
    photo = Photo(str(uuid4()), job.id, "1" * 64, "bare.jpg", "image/jpeg", WIDTH, HEIGHT)
    with desk.store.write(str(uuid4()), "tester") as work:
        photo = work.put(scales.scaled(desk, photo))
    mark = examination.apply(desk, operation(photo, line((0, 0), (10, 0))))["mark"]
    assert not mark["measurements"]
    assert "scale" in mark["not_measured"].lower()


def test_a_known_distance_gives_a_photo_without_cards_its_scale(desk, job):
    photo = Photo(str(uuid4()), job.id, "2" * 64, "bare.jpg", "image/jpeg", WIDTH, HEIGHT, focal_35mm=FOCAL_35MM)
    with desk.store.write(str(uuid4()), "tester") as work:
        photo = work.put(scales.scaled(desk, photo))
    crack = examination.apply(desk, operation(photo, line((-50, 10), (50, 10))))
    examination.apply(desk, operation(photo, line((-80, 0), (80, 0)), "known distance"))
    photo = desk.store.get(Photo, photo.id)
    scales.set_scale(desk, replace(photo, known_distance_mm=160.0))
    length = measured(desk, crack, "length")
    assert abs(length.value - 100) <= length.expanded


@pytest.mark.parametrize(
    "broken",
    [
        {},
        {"op": "no uuid", "mark": {}},
        {"op": str(uuid4()), "do": "put", "mark": {"id": "x", "photo_id": "y"}},
    ],
)
def test_an_operation_that_makes_no_sense_is_refused(desk, broken):
    with pytest.raises(Refused) as refusal:
        examination.apply(desk, broken)
    assert refusal.value.code == "mark.unreadable"


def test_an_area_is_also_a_share_of_its_face(desk, photo):
    examination.apply(desk, operation(photo, ring((-60, -90), (60, -90), (60, 90), (-60, 90)), "outline"))
    drawn = examination.apply(desk, operation(photo, ring((-40, -20), (40, -20), (40, 20), (-40, 20)), "finish loss"))
    finding = desk.store.get(Finding, drawn["mark"]["finding_id"])
    share = next(m for m in measurements_of(desk, finding) if m.quantity == "share")
    assert share.value == pytest.approx(100 * 80 * 40 / (120 * 180), rel=0.01)


def test_several_holes_of_one_finding_are_counted(desk, photo):
    first = None
    for x in (-60, -20, 20, 60):
        (centre,), (rim,) = px((x, 40)), px((x + 0.95, 40))
        shape = {
            "shape": "circle",
            "x": centre[0],
            "y": centre[1],
            "radius": float(np.hypot(*np.subtract(rim, centre))),
        }
        first = examination.apply(desk, operation(photo, shape, "screw hole", finding_id=first))["mark"]["finding_id"]
    told = {m.quantity: m for m in measurements_of(desk, desk.store.get(Finding, first))}
    assert told["count"].value == 4
    assert abs(told["diameter"].value - 1.9) <= told["diameter"].expanded


def test_an_outline_taken_through_a_blend_is_put_down_with_a_word_of_warning(desk, job):
    buffer = io.BytesIO()
    Image.fromarray(body_photo(0, 1.0)[0]).save(buffer, "PNG")
    view = view_named(desk, job, "back")
    (taken,) = take_in(desk, job, [("back.png", buffer.getvalue())], view_id=view.id)
    answer = examination.outline_from_photo(desk, taken.photo)
    assert answer["mark"]["kind"] == "outline"
    assert "has no edge under it" in answer["advice"]

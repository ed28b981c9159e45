"""The canvas's operations over the program's own store and flow, as the routes hand them on."""

from __future__ import annotations

from pathlib import Path
from uuid import uuid4

import cv2
import pytest

from condition.flow.desk import open_desk
from condition.flow.finding_rows import finding_rows
from condition.flow.intake import take_in
from condition.flow.jobs import find_or_open
from condition.pages.routes import flow_steps
from condition.records.fault import Fault
from condition.records.job import Job
from condition.records.photo import Photo
from tests.pages.canvas.bench_photo import crack_px, paint_wood

WIDTH, HEIGHT = 1200, 900


@pytest.fixture
def bench(tmp_path: Path):
    """A store with one painted photo in it: the desk, and the photo's id."""
    file = tmp_path / "wood.jpg"
    cv2.imwrite(str(file), paint_wood(WIDTH, HEIGHT), [cv2.IMWRITE_JPEG_QUALITY, 92])
    desk = open_desk(tmp_path / "store")
    (taken,) = take_in(desk, find_or_open(desk, "bench"), [(file.name, file)])
    return desk, taken.photo.id


def put(photo: str, mark_id: str, version: int = 0, **more: object) -> dict:
    shape = {"shape": "line", "points": [[10, 10], [200, 40]]}
    mark = {"id": mark_id, "photo_id": photo, "finding_id": None, "kind": "crack", "shape": shape, "how": "hand"}
    return {"op": str(uuid4()), "do": "put", "mark": {**mark, **more}, "version": version}


def test_a_changed_kind_is_the_findings_and_all_its_marks_kind(bench):
    desk, photo = bench
    steps = flow_steps()
    first, second = str(uuid4()), str(uuid4())
    made = steps.apply(desk, put(photo, first))["mark"]
    other = steps.apply(desk, put(photo, second, finding_id=made["finding_id"]))["mark"]
    change = put(photo, first, made["version"], finding_id=made["finding_id"], kind="open seam", kind_changed=True)
    answer = steps.apply(desk, change)
    assert answer["mark"]["kind"] == "open seam"
    assert {mark["kind"] for mark in steps.marks_of(desk, photo)} == {"open seam"}
    assert steps.apply(desk, change)["mark"] == answer["mark"]
    moved = put(photo, second, other["version"], finding_id=made["finding_id"], kind="crack")
    standing = next(mark for mark in steps.marks_of(desk, photo) if mark["id"] == second)
    moved["version"] = standing["version"]
    assert steps.apply(desk, moved)["mark"]["kind"] == "open seam", "only a changed kind changes the finding"


def test_a_removed_mark_comes_back_to_its_finding_with_its_number(bench):
    desk, photo = bench
    steps = flow_steps()
    mark_id = str(uuid4())
    made = steps.apply(desk, put(photo, mark_id))["mark"]
    gone = {"op": str(uuid4()), "do": "remove", "mark": made, "version": made["version"]}
    assert steps.apply(desk, gone) == {"ok": True, "mark": None, "removed": mark_id}
    assert steps.marks_of(desk, photo) == []
    back = steps.apply(desk, put(photo, mark_id, 0, finding_id=made["finding_id"]))["mark"]
    assert (back["number"], back["finding_id"]) == (made["number"], made["finding_id"])


def gone(mark: dict, **more: object) -> dict:
    return {"op": str(uuid4()), "do": "remove", "mark": {**mark, **more}, "version": mark["version"]}


def test_a_finding_whose_only_mark_is_joined_to_anothers_stays_without_a_photo_and_gets_it_back(bench):
    desk, photo = bench
    steps = flow_steps()
    mark_id = str(uuid4())
    steps.apply(desk, put(photo, str(uuid4())))
    other = steps.apply(desk, put(photo, mark_id))["mark"]
    answer = steps.apply(desk, gone(other, joined=True))
    assert answer == {"ok": True, "mark": None, "removed": mark_id, "unmarked": other["number"]}
    job = desk.store.get(Job, desk.store.get(Photo, photo).job_id)
    assert [(row.finding.number, row.shown) for row in finding_rows(desk, job)] == [(1, True), (2, False)]
    steps.apply(desk, put(photo, mark_id, 0, finding_id=other["finding_id"]))
    assert [row.shown for row in finding_rows(desk, job)] == [True, True]


def test_a_finding_that_a_fault_stands_for_outlives_its_last_mark(bench):
    desk, photo = bench
    steps = flow_steps()
    made = steps.apply(desk, put(photo, str(uuid4())))["mark"]
    with desk.store.write(str(uuid4()), "tester") as work:
        job_id = desk.store.get(Photo, photo).job_id
        work.put(Fault(str(uuid4()), job_id, finding_id=made["finding_id"]))
    assert steps.apply(desk, gone(made))["unmarked"] == made["number"]


def test_a_stale_change_is_answered_with_the_mark_as_it_stands(bench):
    desk, photo = bench
    steps = flow_steps()
    mark_id = str(uuid4())
    made = steps.apply(desk, put(photo, mark_id))["mark"]
    newer = steps.apply(desk, put(photo, mark_id, made["version"], finding_id=made["finding_id"], how="freehand"))[
        "mark"
    ]
    answer = steps.apply(desk, put(photo, mark_id, made["version"], finding_id=made["finding_id"]))
    assert answer["ok"] is False
    assert answer["mark"]["version"] == newer["version"]
    assert answer["error"].endswith(".")


def test_tiles_of_a_stored_photo_are_found_and_the_assists_answer(bench):
    desk, photo = bench
    steps = flow_steps()
    assert steps.tile_file(desk, photo, 0, 0, 0).is_file()
    crack = crack_px(WIDTH, HEIGHT)
    steps.ready(desk, photo)
    traced = steps.trace(desk, photo, (crack[20], crack[120]))
    assert len(traced["line"]) > 20
    found = steps.holes(desk, photo, (0.58 * WIDTH, 0.26 * HEIGHT, 0.13 * WIDTH, 0.14 * HEIGHT), False)["holes"]
    assert len(found) >= 4
    assert {"centre", "diameter_px", "sure"} <= set(found[0])
    grown = steps.grow(desk, photo, (0.35 * WIDTH, 0.25 * HEIGHT), 0.5, (), ())
    assert len(grown["ring"]) > 10

"""A close-up's marks on the map of its face, against the model the demonstration photos were rendered from.

``demo_images/truth.json`` gives every finding in the millimetres of the model and in the pixels of both photos; the
outline is the examiner's, from ``demo_images/job.json``.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
import pytest

from condition.flow import placing
from condition.flow.archiving import records_of
from condition.flow.demo import FOLDER
from condition.flow.desk import Desk, new_id, open_desk
from condition.flow.examination import apply
from condition.flow.face_marks import faces_of, placed_findings
from condition.flow.gathered import gather
from condition.flow.intake import take_in
from condition.flow.jobs import open_job, view_named
from condition.flow.photos import arrange, remove_photo
from condition.flow.scales import set_scale
from condition.flow.sheets import condition_sheet
from condition.records.job import Job
from condition.records.photo import Photo
from condition.records.placing import PlacedByHand
from condition.report.map_plan import on_face, plan

TRUTH = {photo["file"]: photo for photo in json.loads((FOLDER / "truth.json").read_text(encoding="utf-8"))["photos"]}
ALLOWED_MM = 1.5


@dataclass(frozen=True)
class Bench:
    desk: Desk
    job: Job
    front: Photo
    closeup: Photo


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    desk = open_desk(tmp_path_factory.mktemp("faces") / "store", person="tester")
    job = open_job(desk, "faces")
    view = view_named(desk, job, "front")
    taken = take_in(desk, job, [(name, FOLDER / name) for name in ("front.jpg", "closeup_bridge.jpg")], view_id=view.id)
    front, closeup = (one.photo for one in taken)
    front = set_scale(desk, replace(front, surface_height_mm=72.0, surface_height_sd_mm=0.3))
    script = json.loads((FOLDER / "job.json").read_text(encoding="utf-8"))
    outline = next(photo for photo in script["photos"] if photo["file"] == "front.jpg")["marks"][0]
    draw(desk, front, "outline", outline["shape"])
    placing.complete(desk, job.id)
    yield Bench(desk, job, front, closeup)
    desk.store.close()


def draw(desk: Desk, photo: Photo, kind: str, shape: dict, finding_id: str | None = None) -> str:
    mark = {"id": new_id(), "photo_id": photo.id, "finding_id": finding_id, "kind": kind, "shape": shape, "how": "hand"}
    answer = apply(desk, {"op": new_id(), "do": "put", "version": 0, "mark": mark})
    assert answer["ok"], answer
    return answer["mark"]["finding_id"]


def circles(file: str) -> dict[str, dict]:
    return {
        found["name"]: {"shape": "circle", "x": x, "y": y, "radius": 5.0, "rim": []}
        for found in TRUTH[file]["findings"]
        if "centre_px" in found
        for x, y in [found["centre_px"]]
    }


def places(bench: Bench, file: str, photo: Photo) -> dict[str, np.ndarray]:
    """Where the true centres of a photo land on the face, mm, each drawn as a mark of its own."""
    names = {draw(bench.desk, photo, "screw hole", shape): name for name, shape in circles(file).items()}
    known = gather(bench.desk, bench.job.id)
    found = {}
    for finding, (marked, *_) in placed_findings(known, faces_of(bench.desk, known)):
        if finding.id in names and marked.mark.photo_id == photo.id:
            found[names[finding.id]] = np.array([marked.shape_mm.x, marked.shape_mm.y])
    return found


def test_marks_of_a_close_up_land_on_the_face_where_they_are(bench):
    here, there = places(bench, "front.jpg", bench.front), places(bench, "closeup_bridge.jpg", bench.closeup)
    assert len(there) == 5
    assert max(np.hypot(*(there[name] - here[name])) for name in here) < ALLOWED_MM
    true = {
        found["name"]: np.array(found["centre_mm"]) for found in TRUTH["front.jpg"]["findings"] if "centre_mm" in found
    }
    apart = [
        abs(np.hypot(*(there[a] - there[b])) - np.hypot(*(true[a] - true[b]))) for a, b in combinations(sorted(true), 2)
    ]
    assert max(apart) < ALLOWED_MM


def test_the_placing_tells_how_well_it_fits_and_that_both_scales_agree(bench):
    one = placing.placings_of(bench.desk, bench.job.id)[bench.closeup.id]
    assert one.sure
    assert one.placing.how == "picture"
    assert one.placing.residual_mm < 0.5
    assert abs(one.placing.scale_ratio - 1) < 0.01


def test_a_mark_seen_on_both_photos_is_on_the_map_once_and_thin_beside_it(bench):
    shape, other = (circles(file)["armrest hole 1"] for file in ("front.jpg", "closeup_bridge.jpg"))
    second = circles("closeup_bridge.jpg")["armrest hole 4"]
    finding = draw(bench.desk, bench.closeup, "screw hole", other)
    draw(bench.desk, bench.front, "screw hole", shape, finding)
    draw(bench.desk, bench.closeup, "screw hole", second, finding)
    sheet = condition_sheet(bench.desk, bench.job)
    placed = next(one for one in on_face(sheet.views[0], sheet.findings) if one.finding.id == finding)
    assert len(placed.shapes) == 2
    assert len(placed.again) == 1
    entry = next(one for one in sheet.findings if one.finding.id == finding)
    assert [marked.again for marked in entry.marks if marked.mark.photo_id == bench.front.id] == [False]


def test_what_the_face_shows_gets_no_second_map_over_the_photo(bench):
    draw(bench.desk, bench.closeup, "screw hole", circles("closeup_bridge.jpg")["armrest hole 2"])
    sheet = condition_sheet(bench.desk, bench.job)
    assert [one.outline_mm is not None for one in plan(sheet, 60)] == [True]
    assert [photo.file_name for photo, _ in plan(sheet, 60)[0].others] == ["closeup_bridge.jpg"]


def test_three_points_by_hand_place_the_photo_as_well_and_can_be_taken_back(bench):
    one = placing.placings_of(bench.desk, bench.job.id)[bench.closeup.id]
    names = ("armrest hole 1", "armrest hole 4", "doubtful spot")
    front, closeup = circles("front.jpg"), circles("closeup_bridge.jpg")
    pairs = tuple(((closeup[n]["x"], closeup[n]["y"]), (front[n]["x"], front[n]["y"])) for n in names)
    by_hand = placing.place_by_hand(bench.desk, one, pairs)
    assert by_hand.sure
    assert by_hand.placing.how == "points"
    assert [one.pairs for one in records_of(bench.desk, bench.job) if isinstance(one, PlacedByHand)] == [pairs]
    true = np.array([[f["x"], f["y"]] for f in front.values()])
    seen = placing.to_base_px(by_hand, np.array([[c["x"], c["y"]] for c in closeup.values()]))
    assert np.hypot(*(seen - true).T).max() * bench.front.plane.mm_per_px < ALLOWED_MM
    assert np.abs(placing.to_photo_px(by_hand, seen) - [[c["x"], c["y"]] for c in closeup.values()]).max() < 0.01
    assert placing.place_by_hand(bench.desk, by_hand, ()).placing.how == "picture"


def test_points_that_contradict_each_other_are_refused(bench):
    one = placing.placings_of(bench.desk, bench.job.id)[bench.closeup.id]
    front, closeup = circles("front.jpg"), circles("closeup_bridge.jpg")
    wrong = ["armrest hole 4", "armrest hole 1", "doubtful spot"]
    pairs = tuple(
        ((closeup[a]["x"], closeup[a]["y"]), (front[b]["x"], front[b]["y"]))
        for a, b in zip(sorted(wrong), wrong, strict=True)
    )
    mixed = placing.place_by_hand(bench.desk, one, pairs)
    assert mixed.placing.refusal == "face.points_disagree"
    assert not mixed.sure
    placing.place_by_hand(bench.desk, one, ())


def test_a_photo_left_off_the_face_keeps_its_marks_on_itself(bench):
    one = placing.placings_of(bench.desk, bench.job.id)[bench.closeup.id]
    draw(bench.desk, bench.closeup, "dent", circles("closeup_bridge.jpg")["armrest hole 3"])
    placing.leave_off(bench.desk, one)
    sheet = condition_sheet(bench.desk, bench.job)
    assert any(part.outline_mm is None and part.photo.id == bench.closeup.id for part in plan(sheet, 60))
    placing.leave_off(bench.desk, one, off=False)


def test_a_wrong_height_is_noticed_by_the_two_scales(bench):
    wrong = set_scale(bench.desk, replace(bench.desk.store.get(Photo, bench.front.id), surface_height_mm=0.0))
    placing.complete(bench.desk, bench.job.id)
    one = placing.placings_of(bench.desk, bench.job.id)[bench.closeup.id]
    assert one.placing.refusal == "face.scales_differ"
    assert not one.sure
    assert placing.confirm(bench.desk, one).sure
    set_scale(bench.desk, replace(bench.desk.store.get(Photo, wrong.id), surface_height_mm=72.0))
    assert placing.placings_of(bench.desk, bench.job.id)[bench.closeup.id].sure


def test_the_back_is_not_laid_on_the_front_unasked(bench):
    (taken,) = take_in(bench.desk, bench.job, [("back.jpg", FOLDER / "back.jpg")])
    back = arrange(bench.desk, taken.photo, view_id=view_named(bench.desk, bench.job, "front").id)
    placing.complete(bench.desk, bench.job.id)
    one = placing.placings_of(bench.desk, bench.job.id)[back.id]
    assert not one.sure
    assert one.placing.refusal in ("face.unsure", "face.edges_only")
    placing.leave_off(bench.desk, one)
    remove_photo(bench.desk, bench.desk.store.get(Photo, back.id))
    assert not bench.desk.store.find(PlacedByHand, photo_id=back.id)

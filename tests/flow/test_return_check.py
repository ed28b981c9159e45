"""The return check on photographs that scikit-image carries, moved, lit anew and changed in known places."""

from __future__ import annotations

import time
from dataclasses import replace

import cv2
import numpy as np
import pytest

from condition.errors import Refused
from condition.flow.archiving import archive_job, restore_job
from condition.flow.desk import Desk, new_id
from condition.flow.findings import new_finding
from condition.flow.intake import take_in
from condition.flow.jobs import open_job, view_named
from condition.flow.photos import arrange
from condition.flow.return_changes import accept_as_finding, changes_of, dismiss, explain, reopen, surface_of
from condition.flow.return_check import (
    checks_of,
    confirm_pair,
    declare,
    open_changes,
    open_check,
    pairs_of,
    put_pair,
    remove_check,
    take_apart,
    undeclare,
    unpaired,
)
from condition.flow.return_run import begin_pairing, compare_now, pair_now, progress, resume
from condition.flow.return_verdicts import confirm_verdict, verdicts_of
from condition.records.finding import Finding
from condition.records.mark import Mark
from condition.records.photo import Photo
from condition.records.return_check import (
    DeclaredChange,
    DeclaredRegion,
    ReturnChange,
    ReturnCheck,
    ReturnPair,
    ReturnVerdict,
)
from condition.records.shapes import Circle, Ring
from condition.store import Store
from tests.pairs import photograph, pose, taken_anew

SPOT = (300.0, 150.0)
"""Where the coffee photograph gets a dark spot, 22 px across."""


def _file(rgb: np.ndarray, path):
    cv2.imwrite(str(path), rgb[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, 95])
    return path


def _larger(name: str) -> np.ndarray:
    return cv2.resize(photograph(name), None, fx=2, fy=2, interpolation=cv2.INTER_CUBIC)


def _spotted(rgb: np.ndarray) -> np.ndarray:
    changed = rgb.copy()
    centre = tuple(round(2 * v) for v in SPOT)
    cv2.circle(changed, centre, 22, (40, 20, 15), -1, cv2.LINE_AA)
    return cv2.addWeighted(changed, 0.8, rgb, 0.2, 0)


def _ring(x: float, y: float, half: float) -> Ring:
    return Ring(((x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half)))


@pytest.fixture(scope="module")
def taken(tmp_path_factory):
    """A job with two faces photographed at intake and at the return; the second return photo is of nothing known."""
    folder = tmp_path_factory.mktemp("photos")
    store = Store.open(tmp_path_factory.mktemp("bench") / "store")
    desk = Desk(store, "tester")
    job = open_job(desk, "R-1", title="Test mandolin")
    coffee, cat = _larger("coffee"), _larger("chelsea")
    view = pose(coffee.shape[1], coffee.shape[0], 4.0, 5.0, 1.0)
    before = [("face.jpg", _file(coffee, folder / "face.jpg")), ("other.jpg", _file(cat, folder / "other.jpg"))]
    after = [
        ("face_back.jpg", _file(taken_anew(_spotted(coffee), view, 5), folder / "face_back.jpg")),
        ("elsewhere.jpg", _file(_larger("astronaut"), folder / "elsewhere.jpg")),
    ]
    early = [one.photo for one in take_in(desk, job, before)]
    early[0] = arrange(desk, early[0], view_id=view_named(desk, job, "front").id)
    late = [one.photo for one in take_in(desk, job, after, occasion="returned")]
    yield desk, job, early, late
    store.close()


@pytest.fixture(scope="module")
def compared(taken):
    """The pair compared, with one finding marked where nothing changed and one where the spot is."""
    desk, job, (face, _), (back, _) = taken
    untouched = new_finding(desk, job, "stain")
    at_the_spot = new_finding(desk, job, "finish loss")
    with desk.store.write(new_id(), "tester") as work:
        work.put(Mark(new_id(), face.id, untouched.id, _ring(800.0, 620.0, 40.0)))
        work.put(Mark(new_id(), face.id, at_the_spot.id, Circle(2 * SPOT[0] + 30, 2 * SPOT[1], 20.0)))
    check = open_check(desk, job)
    proposed = pair_now(desk, check)
    pair = next(one for one in proposed if one.after_id == back.id)
    confirm_pair(desk, pair)
    compare_now(desk, check)
    return desk, job, check, pair


def the_spot(desk, check) -> ReturnChange:
    """The change that covers the planted spot."""
    from shapely.geometry import Point

    there = Point(2 * SPOT[0], 2 * SPOT[1])
    return next(one for one in changes_of(desk, check) if surface_of(one.ring_before_px, 4).contains(there))


def test_photos_are_paired_by_what_they_show_and_the_rest_stays_alone(compared, taken):
    desk, _, check, pair = compared
    _, _, (face, other), (back, elsewhere) = taken
    assert (pair.before_id, pair.after_id) == (face.id, back.id)
    alone_before, alone_after = unpaired(desk, check)
    assert [photo.id for photo in alone_before] == [other.id]
    assert [photo.id for photo in alone_after] == [elsewhere.id]


def test_a_confirmed_photo_takes_the_face_of_its_earlier_one(compared, taken):
    desk, _, _, pair = compared
    assert desk.store.get(Photo, pair.after_id).view_id == desk.store.get(Photo, pair.before_id).view_id is not None


def test_the_pair_is_laid_where_the_camera_was(compared, taken):
    _, _, check, _ = compared
    desk = compared[0]
    (pair,) = [one for one in pairs_of(desk, check) if one.state == "compared"]
    height, width = 800, 1200
    true = pose(width, height, 4.0, 5.0, 1.0)
    found = np.array(pair.homography).reshape(3, 3)
    corners = np.array([(100, 100, 1), (1100, 100, 1), (1100, 700, 1), (100, 700, 1.0)])
    seen, wanted = (corners @ m.T for m in (found, true))
    assert np.abs(seen[:, :2] / seen[:, 2:] - wanted[:, :2] / wanted[:, 2:]).max() < 1.5


def test_the_planted_spot_is_found_and_touches_the_finding_beside_it(compared):
    desk, job, check, _ = compared
    spot = the_spot(desk, check)
    assert spot.lighter < -10
    numbers = {finding.id: finding.number for finding in desk.store.find(Finding, job_id=job.id)}
    assert [numbers[key] for key in spot.touches] == [2]


def test_every_change_is_in_the_list_whatever_is_decided(compared):
    desk, _, check, _ = compared
    stored = {one.id for one in desk.store.find(ReturnChange, check_id=check.id)}
    assert {one.id for one in changes_of(desk, check)} == stored
    told = dismiss(desk, changes_of(desk, check)[0], "dust on the lens")
    assert {one.id for one in changes_of(desk, check)} == stored
    assert reopen(desk, told).decision == "open"


def test_the_untouched_finding_is_as_it_was(compared):
    desk, job, check, _ = compared
    numbers = {finding.id: finding.number for finding in desk.store.find(Finding, job_id=job.id)}
    assert {numbers[one.finding_id]: one.verdict for one in verdicts_of(desk, check)}[1] == "as it was"


def test_overruling_a_verdict_wants_a_reason(compared):
    desk, _, check, _ = compared
    verdict = verdicts_of(desk, check)[0]
    other = "worse" if verdict.proposed != "worse" else "better"
    with pytest.raises(Refused, match=r"return\.no_words"):
        confirm_verdict(desk, verdict, other)
    said = confirm_verdict(desk, verdict, other, "seen under the loupe")
    assert (said.verdict, said.confirmed_by) == (other, "tester")
    assert confirm_verdict(desk, said, "").verdict == verdict.proposed


def test_an_accepted_change_is_a_numbered_finding_with_its_ring_on_the_later_photo(compared):
    desk, _, check, pair = compared
    spot = the_spot(desk, check)
    finding = accept_as_finding(desk, spot, "dent", "a dark spot nobody mentioned")
    again = accept_as_finding(desk, the_spot(desk, check), "dent")
    assert again.id == finding.id
    assert finding.number == 3
    assert finding.observation == "a dark spot nobody mentioned"
    (mark,) = desk.store.find(Mark, finding_id=finding.id)
    assert (mark.photo_id, mark.shape_px) == (pair.after_id, spot.ring_after_px)
    reopen(desk, the_spot(desk, check))
    assert desk.store.find(Mark, finding_id=finding.id) == ()
    assert the_spot(desk, check).decision == "open"


def test_a_part_swapped_explains_its_region_and_taking_it_away_opens_it_again(compared):
    desk, _, check, pair = compared
    region = DeclaredRegion(pair.before_id, _ring(2 * SPOT[0], 2 * SPOT[1], 60.0))
    declared = DeclaredChange(new_id(), "part swapped", "another knob", (region,))
    declare(desk, check, declared)
    assert (the_spot(desk, check).decision, the_spot(desk, check).declared_id) == ("explained", declared.id)
    undeclare(desk, check, declared.id)
    assert the_spot(desk, check).decision == "open"


def test_new_strings_do_not_explain_a_round_spot_below_them(compared):
    desk, _, check, pair = compared
    region = DeclaredRegion(pair.before_id, _ring(2 * SPOT[0], 2 * SPOT[1], 200.0))
    declared = DeclaredChange(new_id(), "new strings", "a new set", (region,))
    declare(desk, check, declared)
    assert the_spot(desk, check).decision == "open"
    undeclare(desk, check, declared.id)


def test_explaining_and_dismissing_want_words(compared):
    desk, _, check, _ = compared
    for decide in (explain, dismiss):
        with pytest.raises(Refused, match=r"return\.no_words"):
            decide(desk, the_spot(desk, check), "  ")


def test_comparing_again_keeps_what_was_decided(compared):
    desk, _, check, _ = compared
    explain(desk, the_spot(desk, check), "a varnish sample the owner asked for")
    compare_now(desk, check, anew=True)
    spot = the_spot(desk, check)
    assert (spot.decision, spot.words) == ("explained", "a varnish sample the owner asked for")
    reopen(desk, spot)


def test_photos_that_do_not_belong_together_are_refused_with_a_sentence(taken):
    desk, job, (face, _), (_, elsewhere) = taken
    check = open_check(desk, job)
    pair = put_pair(desk, check, elsewhere, face)
    compare_now(desk, check)
    kept = desk.store.get(ReturnPair, pair.id)
    assert (kept.state, kept.refused[0]) == ("refused", "compare.unrelated")
    take_apart(desk, kept)


def test_handovers_are_compared_forwards_only(taken):
    desk, job, *_ = taken
    for earlier, later in (("returned", "intake"), ("back", "back"), ("intake", "elsewhere")):
        with pytest.raises(Refused, match=r"return\.order"):
            open_check(desk, job, earlier, later)


def test_without_later_photos_there_is_nothing_to_pair(taken):
    desk, job, *_ = taken
    with pytest.raises(Refused, match=r"return\.no_later"):
        begin_pairing(desk, open_check(desk, job, "intake", "out"))


def test_a_killed_program_goes_on_where_it_stopped(compared):
    desk, _, check, pair = compared
    with desk.store.write(new_id(), "tester") as work:
        now = work.get(ReturnPair, pair.id)
        work.put(replace(now, state="waiting", homography=(), places=()))
    assert progress(desk, check).doing == "comparing"
    resume(desk)
    end = time.monotonic() + 120
    while progress(desk, check).doing and time.monotonic() < end:
        time.sleep(0.2)
    again = desk.store.get(ReturnPair, pair.id)
    assert again.state == "compared"
    assert len(again.homography) == 9


def test_sure_open_changes_touch_no_finding(compared):
    desk, _, check, _ = compared
    assert all(not one.touches and not one.reason for one in open_changes(desk, check))


def test_an_archive_takes_the_check_along(compared, tmp_path):
    desk, job, check, _ = compared
    folder = archive_job(desk, job, tmp_path / "archive")
    other = Desk(Store.open(tmp_path / "other"), "tester")
    restored = restore_job(other, folder)
    there = next(one for one in checks_of(other, restored) if one.id == check.id)
    assert replace(there, version=0) == replace(desk.store.get(ReturnCheck, check.id), version=0)
    for kind in (ReturnPair, ReturnChange, ReturnVerdict):
        kept, given = (
            {one.id: replace(one, version=0) for one in at.store.find(kind, check_id=check.id)} for at in (desk, other)
        )
        assert given == kept
        assert kept
    other.store.close()


def test_taking_a_check_out_leaves_the_findings(compared):
    desk, job, check, _ = compared
    numbers = [finding.number for finding in desk.store.find(Finding, job_id=job.id)]
    remove_check(desk, check)
    assert check.id not in [one.id for one in checks_of(desk, job)]
    assert [finding.number for finding in desk.store.find(Finding, job_id=job.id)] == numbers

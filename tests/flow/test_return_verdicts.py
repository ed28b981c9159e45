"""Verdicts from what a place shows and from marks on the later photos.

Differences are judged by the root of the sum of squares of both expanded uncertainties: JCGM 100:2008, 5.1.2.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from condition.flow.desk import Desk, new_id
from condition.flow.faults import edit_fault, note_fault
from condition.flow.findings import new_finding
from condition.flow.jobs import open_job
from condition.flow.return_check import open_check
from condition.flow.return_verdicts import differs, propose, propose_again
from condition.records.finding import Finding
from condition.records.mark import Mark
from condition.records.measurement import Measurement
from condition.records.photo import Photo
from condition.records.return_check import PlaceFound, ReturnChange, ReturnPair
from condition.records.shapes import Circle, Line, Ring
from condition.store import Store

RING = Ring(((10.0, 10.0), (40.0, 10.0), (40.0, 40.0), (10.0, 40.0)))
BEFORE = Photo("before", "job", "0" * 64, "before.jpg", "image/jpeg", 400, 300)
AFTER = Photo("after", "job", "1" * 64, "after.jpg", "image/jpeg", 400, 300, occasion="returned")
PHOTOS = {"before": BEFORE, "after": AFTER}
SHAPES = {"crack": Line(((10.0, 10.0), (40.0, 40.0))), "screw hole": Circle(25.0, 25.0, 8.0)}


def mm(value: float, expanded: float, quantity: str = "length", **fields: object) -> Measurement:
    return Measurement(quantity, value, "mm", expanded, "photo", **fields)


def finding(kind: str) -> Finding:
    return Finding("finding", "job", 4, kind)


def mark(kind: str = "crack", photo_id: str = "before", name: str = "mark", **fields: object) -> Mark:
    return Mark(name, photo_id, "finding", SHAPES.get(kind, RING), **fields)


def place(name: str = "mark", **fields: object) -> PlaceFound:
    return PlaceFound(name, "finding", RING, RING, **fields)


def told(kind: str, *places: PlaceFound, changes: tuple[ReturnChange, ...] = ()) -> str:
    pair = ReturnPair("pair", "job", "check", "before", "after", state="compared", places=places)
    marks = tuple(mark(kind, name=one.mark_id) for one in places)
    return propose(finding(kind), marks, (), [pair], PHOTOS, changes).verdict


def change(ring: Ring, **fields: object) -> ReturnChange:
    return ReturnChange("change", "job", "check", "pair", ring, ring, 8.0, 20.0, touches=("finding",), **fields)


def test_a_closed_crack_is_repaired_and_an_open_one_is_as_it_was():
    assert told("crack", place(open_share=0.02, changed=True)) == "repaired"
    assert told("crack", place(open_share=0.97)) == "as it was"


def test_a_crack_closed_in_part_is_better():
    assert told("crack", place(open_share=0.4, changed=True)) == "better"


def test_an_open_crack_with_a_darker_streak_at_its_end_is_worse():
    beyond = Ring(((38.0, 38.0), (60.0, 60.0), (58.0, 62.0)))
    assert told("crack", place(open_share=0.98), changes=(change(beyond, lighter=-9.0),)) == "worse"
    assert (
        told("crack", place(open_share=0.98), changes=(change(beyond, lighter=-9.0, reason="shadow"),)) == "as it was"
    )


def test_holes_are_repaired_when_none_is_a_dark_bore_any_more():
    filled, still = (
        place(name, depth_before=30.0, depth_after=depth, changed=depth < 9)
        for name, depth in (("a", 4.0), ("b", 29.0))
    )
    assert told("screw hole", filled) == "repaired"
    assert told("screw hole", still) == "as it was"
    assert told("screw hole", filled, still) == "better"


def test_a_hole_that_the_program_finds_smaller_again_was_bushed():
    pair_place = place(
        depth_before=40.0, depth_after=38.0, changed=True, share=0.7, size_after=mm(5.2, 0.2, "diameter")
    )
    pair = ReturnPair("pair", "job", "check", "before", "after", state="compared", places=(pair_place,))
    early = mark("screw hole", measurements=(mm(12.4, 0.2, "diameter"),))
    proposal = propose(finding("enlarged hole"), (early,), (), [pair], PHOTOS, ())
    assert (proposal.verdict, proposal.exceeds, proposal.after.value) == ("repaired", True, 5.2)


def test_an_untouched_loss_is_as_it_was_only_when_its_place_was_seen():
    assert told("finish loss", place(depth_before=-12.0, depth_after=-11.5)) == "as it was"
    assert told("finish loss", place(unseen="card")) == "not seen"
    assert propose(finding("finish loss"), (mark("finish loss"),), (), [], PHOTOS, ()).verdict == "not seen"


def test_a_loss_that_was_touched_up_is_repaired_and_one_that_spread_is_worse():
    assert told("finish loss", place(changed=True, share=0.9, depth_before=-14.0, depth_after=-2.0)) == "repaired"
    beside = Ring(((42.0, 10.0), (60.0, 10.0), (60.0, 30.0), (42.0, 30.0)))
    assert told("finish loss", place(depth_before=-14.0, depth_after=-14.0), changes=(change(beside),)) == "worse"


def test_what_a_photo_cannot_tell_is_not_told():
    assert told("electrical fault", place()) == "not seen"
    assert told("finish loss", place(changed=True, reason="reflection", share=0.8)) == "not seen"


@pytest.mark.parametrize(
    ("kind", "before", "after", "verdict", "exceeds"),
    [
        ("enlarged hole", mm(12.4, 0.2, "diameter"), mm(5.2, 0.2, "diameter"), "repaired", True),
        ("enlarged hole", mm(12.4, 0.2, "diameter"), mm(12.6, 0.2, "diameter"), "as it was", False),
        ("enlarged hole", mm(12.4, 0.2, "diameter"), mm(12.7, 0.2, "diameter"), "worse", True),
        ("crack", mm(148.0, 0.9), mm(90.0, 0.9), "better", True),
        ("crack", mm(148.0, 0.9), mm(163.0, 0.9), "worse", True),
        ("finish loss", mm(14.0, 0.3, "area"), mm(14.2, 0.3, "area"), "as it was", False),
    ],
)
def test_marks_on_the_later_photo_decide_by_their_measurements(kind, before, after, verdict, exceeds):
    early, late = mark(kind, measurements=(before,)), mark(kind, "after", "late", measurements=(after,))
    proposal = propose(finding(kind), (early,), (late,), [], PHOTOS, ())
    assert (proposal.verdict, proposal.exceeds) == (verdict, exceeds)
    assert (proposal.before.value, proposal.after.value) == (before.value, after.value)


def test_two_measurements_differ_beyond_the_root_of_the_sum_of_squares():
    # 3-4-5: ± 0.3 and ± 0.4 together are ± 0.5 (JCGM 100:2008, 5.1.2, uncorrelated inputs).
    assert not differs(mm(10.0, 0.3), mm(10.5, 0.4))
    assert differs(mm(10.0, 0.3), mm(10.51, 0.4))


def test_a_width_below_its_limit_differs_only_from_what_lies_above_it():
    limit = replace(mm(0.3, 0.0, "width"), bound="below")
    assert differs(mm(0.9, 0.2, "width"), limit)
    assert not differs(mm(0.4, 0.2, "width"), limit)


def test_a_finding_without_a_mark_has_no_place_to_look_at():
    proposal = propose(finding("crack"), (), (), [], PHOTOS, ())
    assert (proposal.verdict, proposal.why[0][0]) == ("not seen", "return.why_no_mark")


@pytest.fixture
def retested(tmp_path):
    """A check of a job with an electrical fault and a crack, both marked at intake, the crack seen as before."""
    store = Store.open(tmp_path / "store")
    desk = Desk(store, "tester")
    job = open_job(desk, "R-7", title="Test guitar")
    fault_found, crack = new_finding(desk, job, "electrical fault"), new_finding(desk, job, "crack")
    early, late = (replace(one, id=new_id(), job_id=job.id) for one in (BEFORE, AFTER))
    check = open_check(desk, job)
    with desk.store.write(new_id(), "tester") as work:
        for one in (early, late):
            work.put(one)
        marks = [work.put(Mark(new_id(), early.id, one.id, SHAPES["crack"])) for one in (fault_found, crack)]
        seen = tuple(PlaceFound(one.id, one.finding_id, RING, RING, open_share=0.97) for one in marks)
        work.put(ReturnPair(new_id(), job.id, check.id, early.id, late.id, state="compared", places=seen))
    yield desk, job, check, fault_found, crack
    store.close()


@pytest.mark.parametrize(
    ("retest", "verdict"),
    [
        ("gone", "repaired"),
        ("better", "better"),
        ("as before", "as it was"),
        ("worse", "worse"),
        ("not retested", "not seen"),
    ],
)
def test_a_faults_retest_tells_what_became_of_the_finding_it_stands_for(retested, retest, verdict):
    desk, job, check, fault_found, crack = retested
    fault = note_fault(desk, job, "cuts out", finding_id=fault_found.id)
    edit_fault(desk, replace(fault, retest=retest, retest_words="Ten minutes, the plug moved."))
    told = {one.finding_id: one for one in propose_again(desk, check)}
    assert told[fault_found.id].proposed == verdict
    by_retest = ("return.why_retest", (("words", "Ten minutes, the plug moved."),))
    assert (by_retest in told[fault_found.id].why) == (retest != "not retested")
    assert told[crack.id].proposed == "as it was"


def test_a_retest_does_not_overrule_what_a_photo_shows(retested):
    desk, job, check, _, crack = retested
    fault = note_fault(desk, job, "other", finding_id=crack.id)
    edit_fault(desk, replace(fault, retest="gone"))
    told = {one.finding_id: one.proposed for one in propose_again(desk, check)}
    assert told[crack.id] == "as it was"

"""The plan answers findings, faults and requests, warns of what is left undisturbed, and keeps its order."""

from __future__ import annotations

from dataclasses import replace

import pytest

from condition.errors import Refused
from condition.flow.desk import new_id
from condition.flow.findings import edit_finding, new_finding, remove_finding
from condition.flow.jobs import describe
from condition.flow.parts import add_part, leave_undisturbed
from condition.flow.plan import (
    choose,
    keep_treatment,
    mark_done,
    move,
    plan,
    plan_as_decided,
    plan_entries,
    propose,
    put_back_treatment,
    remove_treatment,
    still_open,
)
from condition.records.fault import Fault
from condition.records.instrument import Instrument
from condition.records.treatment import Treatment


@pytest.fixture
def asked(desk, job):
    items = ("Say what the crack needs", "Leave the worn places")
    describe(desk, replace(job, request_items=items), desk.store.get(Instrument, job.instrument_id), None)
    return desk.store.get(type(job), job.id)


def turns(desk, job) -> list[str]:
    return [one.treatment.what for one in plan(desk, job)]


def test_everything_that_asks_for_a_decision_is_listed_until_it_has_one(desk, asked):
    crack = new_finding(desk, asked, "crack", decision="repair", decision_reason="it runs on")
    with desk.store.write(new_id(), "tester") as work:
        fault = work.put(Fault(new_id(), asked.id, "cuts out"))
    assert [one.about for one in still_open(desk, asked)] == ["finding", "fault", "request", "request"]
    propose(desk, asked, "finding", crack.id)
    propose(desk, asked, "fault", fault.id, action="send out")
    propose(desk, asked, "request", request="Leave the worn places", action="leave", what="Worn places stay")
    assert [one.words for one in still_open(desk, asked)] == ["Say what the crack needs"]
    assert [one.subject for one in plan_entries(desk, asked)] == [
        "finding 1, crack",
        "fault: cuts out",
        "asked for: Leave the worn places",
    ]


def test_a_finding_is_planned_as_it_was_decided(desk, job):
    crack = new_finding(desk, job, "crack", decision="repair", decision_reason="it runs on")
    new_finding(desk, job, "finish loss", decision="leave")
    new_finding(desk, job, "dent")
    assert plan_as_decided(desk, job) == 2
    first = plan(desk, job)[0].treatment
    assert (first.about_id, first.action, first.why) == (crack.id, "repair", "it runs on")
    assert plan_as_decided(desk, job) == 0


def test_a_finding_left_undisturbed_warns_before_it_is_planned(desk, job):
    joint = new_finding(desk, job, "other", place="solder", decision="left undisturbed", decision_reason="its date")
    with pytest.raises(Refused) as caught:
        propose(desk, job, "finding", joint.id, action="repair")
    assert caught.value.code == "plan.left_undisturbed_why"
    assert caught.value.values["reason"] == "its date"
    assert not plan(desk, job)
    assert plan_as_decided(desk, job) == 0
    propose(desk, job, "finding", joint.id, action="leave")
    spite = propose(desk, job, "finding", joint.id, action="repair", in_spite="the client insists, in writing")
    assert plan(desk, job)[1].undisturbed[0].record_id == joint.id
    with pytest.raises(Refused):
        keep_treatment(desk, replace(spite, in_spite=" "))


@pytest.mark.parametrize("by", ["name", "words"])
def test_a_part_left_undisturbed_warns_before_it_is_planned(desk, job, by):
    control = add_part(desk, job, "volume control")
    leave_undisturbed(desk, control, "its solder is its date")
    fields = {"part_ids": (control.id,), "what": "Replace it"} if by == "name" else {"what": "Clean the volume control"}
    with pytest.raises(Refused) as caught:
        propose(desk, job, action="repair", **fields)
    assert caught.value.values == {"what": "volume control", "reason": "its solder is its date"}
    propose(desk, job, action="leave", **fields)
    propose(desk, job, action="repair", what="Mend the lead before it")


def test_a_warning_comes_up_when_a_part_is_left_undisturbed_later(desk, job):
    nut = add_part(desk, job, "nut")
    propose(desk, job, what="New nut", part_ids=(nut.id,))
    assert not plan(desk, job)[0].undisturbed
    leave_undisturbed(desk, nut, "home-made, part of its story")
    assert [one.name for one in plan(desk, job)[0].undisturbed] == ["nut"]


def test_the_order_of_work_is_the_benchs_own(desk, job):
    for what in ("glue", "plug", "string"):
        propose(desk, job, what=what)
    last = plan(desk, job)[2].treatment
    move(desk, last, -1)
    assert turns(desk, job) == ["glue", "string", "plug"]
    move(desk, plan(desk, job)[0].treatment, -1)
    move(desk, plan(desk, job)[0].treatment, 1)
    assert turns(desk, job) == ["string", "glue", "plug"]


def test_of_several_ways_one_is_chosen(desk, job):
    level = propose(desk, job, what="Level", option_group="frets")
    refret = propose(desk, job, what="Refret", option_group="frets", chosen=False)
    choose(desk, refret)
    assert {one.treatment.what: one.treatment.chosen for one in plan(desk, job)} == {"Level": False, "Refret": True}
    choose(desk, level)
    assert {one.treatment.what: one.treatment.chosen for one in plan(desk, job)} == {"Level": True, "Refret": False}


def test_what_was_taken_out_comes_back(desk, job):
    one = propose(desk, job, what="Clean")
    remove_treatment(desk, one)
    assert not plan(desk, job)
    assert put_back_treatment(desk, one.id).what == "Clean"
    assert turns(desk, job) == ["Clean"]


def test_a_plan_outlives_its_finding(desk, job):
    crack = new_finding(desk, job, "crack", decision="repair")
    propose(desk, job, "finding", crack.id, what="Glue")
    remove_finding(desk, crack)
    assert plan(desk, job)[0].finding is None
    assert plan_entries(desk, job)[0].subject == ""


def test_what_was_done_in_the_end_is_kept(desk, job):
    one = propose(desk, job, what="Glue")
    done = mark_done(desk, one, "2027-01-30", "three cleats, hide glue")
    assert desk.store.get(Treatment, one.id) == done
    assert (done.done_on, done.done_words) == ("2027-01-30", "three cleats, hide glue")


def test_a_finding_edited_after_planning_keeps_its_treatment(desk, job):
    crack = new_finding(desk, job, "crack", decision="repair")
    one = propose(desk, job, "finding", crack.id, what="Glue")
    edit_finding(desk, replace(crack, decision="leave"))
    assert desk.store.get(Treatment, one.id).action == "repair"

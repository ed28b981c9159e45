"""Several findings changed at once, taken back at once; a removed finding put back; a list asked for in few queries."""

from __future__ import annotations

from dataclasses import replace

import pytest
from sqlalchemy import event

from condition.errors import Refused
from condition.flow.finding_edits import edit_together, last_removed, put_back, take_back
from condition.flow.finding_rows import finding_rows
from condition.flow.findings import edit_finding, new_finding, remove_finding
from condition.records.finding import Finding
from condition.records.mark import Mark
from condition.records.photo import Photo
from condition.records.shapes import Point


@pytest.fixture
def three(desk, job):
    return [new_finding(desk, job, kind, place=kind) for kind in ("crack", "dent", "stain")]


def now(desk, finding):
    return desk.store.get(Finding, finding.id)


def test_several_findings_get_one_decision_and_one_undo_takes_it_back(desk, three):
    operation = edit_together(desk, [one.id for one in three], decision="repair", decision_reason="before the tour")
    assert {now(desk, one).decision for one in three} == {"repair"}
    assert {now(desk, one).kind for one in three} == {"crack", "dent", "stain"}
    assert len(take_back(desk, operation)) == 3
    assert {(now(desk, one).decision, now(desk, one).decision_reason) for one in three} == {("", "")}


def test_what_was_changed_since_stays_when_the_rest_is_taken_back(desk, three):
    operation = edit_together(desk, [one.id for one in three], decision="repair", state="doubtful")
    edit_finding(desk, replace(now(desk, three[0]), decision="leave"))
    take_back(desk, operation)
    assert [now(desk, one).decision for one in three] == ["leave", "", ""]
    assert [now(desk, one).state for one in three] == ["sure"] * 3


def test_a_word_of_its_own_goes_with_its_kind_and_comes_back_with_it(desk, job):
    own = new_finding(desk, job, "worm track")
    operation = edit_together(desk, [own.id], kind="chip")
    assert (now(desk, own).kind, now(desk, own).own_kind) == ("chip", "")
    take_back(desk, operation)
    assert (now(desk, own).kind, now(desk, own).own_kind) == ("other", "worm track")


def test_nothing_to_change_is_told(desk, three):
    with pytest.raises(Refused, match="nothing_to_change"):
        edit_together(desk, [], decision="leave")
    with pytest.raises(Refused, match="nothing_to_change"):
        edit_together(desk, [three[0].id])


def with_mark(desk, job, finding):
    photo = Photo("11111111-1111-4111-8111-111111111111", job.id, "0" * 64, "a.jpg", "image/jpeg", 100, 80)
    mark = Mark("22222222-2222-4222-8222-222222222222", photo.id, finding.id, Point(5, 5))
    with desk.store.write("33333333-3333-4333-8333-333333333333", "tester") as work:
        work.put(photo)
        return work.put(mark)


def test_a_removed_finding_comes_back_with_its_marks_and_its_number(desk, job, three):
    mark = with_mark(desk, job, three[1])
    remove_finding(desk, three[1])
    assert last_removed(desk, job, three[1].id).number == 2
    assert not desk.store.find(Mark, finding_id=three[1].id)
    assert put_back(desk, three[1].id).number == 2
    assert [one.id for one in desk.store.find(Mark, finding_id=three[1].id)] == [mark.id]
    assert last_removed(desk, job, three[1].id) is None
    assert put_back(desk, three[1].id) is None


def test_the_list_tells_which_findings_no_photo_shows(desk, job, three):
    with_mark(desk, job, three[1])
    assert [row.shown for row in finding_rows(desk, job)] == [False, True, False]
    assert [row.finding.number for row in finding_rows(desk, job)] == [1, 2, 3]


def test_the_list_asks_the_store_as_often_for_forty_findings_as_for_three(desk, job, three):
    asked = []

    def count(*_):
        asked.append(1)

    event.listen(desk.store._engine, "before_cursor_execute", count)
    finding_rows(desk, job)
    few, asked[:] = len(asked), []
    for _ in range(37):
        new_finding(desk, job, "dent")
    asked.clear()
    assert len(finding_rows(desk, job)) == 40
    assert len(asked) == few <= 8

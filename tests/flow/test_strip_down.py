"""A strip-down log read backwards accounts for every part, screw and bag."""

from __future__ import annotations

from dataclasses import replace
from uuid import uuid4

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from condition.errors import Refused
from condition.flow import strip_down
from condition.flow.bags import begin_bag, contents_of, edit_bag, remove_bag
from condition.flow.jobs import open_job
from condition.flow.parts import add_part, left_undisturbed, move, parts_of
from condition.records.part import Part
from condition.records.reassembly import account, read_backwards
from condition.records.strip_down import Bag, Screws, StripDownStep
from condition.report.left_over import over_in_words
from condition.store import Stale

TICKED = "2026-11-20T10:00:00Z"


def uid() -> str:
    return str(uuid4())


@st.composite
def logs(draw):
    """A whole strip-down: bags, parts, steps in an order of their own, and how far the reassembly has come."""
    bags = [
        Bag(uid(), "j", n, stays="by agreement" if draw(st.booleans()) else "")
        for n in range(1, draw(st.integers(1, 4)))
    ]
    parts, steps = [], []
    for order in range(1, draw(st.integers(1, 8))):
        stopped = draw(st.booleans()) and draw(st.booleans())
        bag = draw(st.sampled_from([None, *bags]))
        screws = tuple(
            Screws(count, hole="hole", back=draw(st.integers(0, count)))
            for count in draw(st.lists(st.integers(1, 9), max_size=3))
        )
        back = draw(st.booleans())
        screws = screws if back else tuple(replace(one, back=0) for one in screws)
        mine = []
        for _ in range(draw(st.integers(0, 2))):
            place = "fitted" if back or stopped else "bag" if bag else "bench"
            mine.append(Part(uid(), "j", f"part {len(parts)}", place=place, bag_id=bag.id if place == "bag" else None))
            parts.append(mine[-1])
        steps.append(
            StripDownStep(
                uid(), "j", order, "x", tuple(part.id for part in mine), screws,
                bag_id=bag.id if bag else None, stopped=stopped, back_at=TICKED if back else "",
            )
        )  # fmt: skip
    return draw(st.permutations(steps)), bags, parts


@given(logs())
@settings(max_examples=200, deadline=None)
def test_read_backwards_it_accounts_for_every_part_screw_and_bag(log):
    steps, bags, parts = log
    back = read_backwards(steps)
    assert [step.step_order for step in back] == sorted((s.step_order for s in back), reverse=True)
    silent = [s for s in steps if s.stopped and not (s.screws or s.fragments or s.bag_id)]
    assert {s.id for s in back} | {s.id for s in silent} == {s.id for s in steps}

    left = account(steps, bags, parts)
    screws_back = sum(one.back for step in steps for one in step.screws)
    assert screws_back + left.screws_left + left.screws_staying == sum(step.screw_count for step in steps)
    bagged = {part.bag_id for part in parts if part.bag_id} | {s.bag_id for s in back if not s.back or s.screws_left}
    assert {bag.id for bag in (*left.bags_left, *left.bags_staying)} == bagged - {None}
    staying = {bag.id for bag in bags if bag.stays}
    off = {part.id for part in parts if part.place != "fitted" and part.bag_id not in staying}
    assert {part.id for part in left.parts_left} == off


@given(logs())
@settings(max_examples=60, deadline=None)
def test_all_ticked_leaves_nothing_and_says_so(log):
    steps, bags, parts = log
    whole = [replace(s, back_at=TICKED, screws=tuple(replace(one, back=one.count) for one in s.screws)) for s in steps]
    fitted = [replace(part, place="fitted", bag_id=None) for part in parts]
    left = account(whole, bags, fitted)
    assert left.nothing_over
    assert over_in_words(left) == ["Bags left: 0, screws left: 0."]


@given(logs())
@settings(max_examples=60, deadline=None)
def test_whatever_is_over_is_named(log):
    steps, bags, parts = log
    left = account(steps, bags, parts)
    words = "\n".join(over_in_words(left))
    assert f"Bags left: {len(left.bags_left)}, screws left: {left.screws_left}." in words
    for step in left.open_steps:
        assert f"Step {step.step_order} is not back" in words
    for part in left.parts_left:
        assert part.name in words
    assert (len(words.splitlines()) == 1) == (left.nothing_over and not left.bags_staying and not left.parts_out)


@given(counts=st.lists(st.integers(1, 6), min_size=1, max_size=4), data=st.data())
@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_through_the_store_ticks_and_their_undo_keep_the_account(desk, counts, data):
    job = open_job(desk, uid())
    steps = []
    for count in counts:
        part = add_part(desk, job, f"cover {uid()}")
        bag = data.draw(st.sampled_from([None, 1, 2, 3]))
        steps.append(
            strip_down.take_off(desk, job, part_ids=[part.id], screws=[Screws(count, "plate")], bag_number=bag)
        )
    off = strip_down.account_of(desk, job)
    assert off.screws_left == sum(counts)
    assert list(strip_down.reassembly(desk, job)) == steps[::-1]
    for step in steps[::-1]:
        ticked = strip_down.put_back(desk, step)
        if data.draw(st.booleans()):
            step = strip_down.take_tick_back(desk, ticked)
            assert strip_down.account_of(desk, job).screws_left >= step.screw_count
            strip_down.put_back(desk, step)
    assert strip_down.account_of(desk, job).nothing_over
    assert {part.place for part in parts_of(desk, job)} == {"fitted"}


def test_a_step_is_added_with_its_bag_and_its_part_lies_in_it(desk, job):
    guard = add_part(desk, job, "pickguard")
    step = strip_down.take_off(
        desk, job, part_ids=[guard.id], screws=[Screws(3, "edge"), Screws(0)], bag_number=2, wires="ground, unplugged"
    )
    (bag,) = desk.store.find(Bag, job_id=job.id)
    assert (step.step_order, step.what, step.screw_count, bag.number) == (1, "pickguard", 3, 2)
    (guard,) = parts_of(desk, job)
    assert (guard.place, guard.bag_id) == ("bag", bag.id)
    assert contents_of(desk, bag) == ("pickguard", "3 screws, edge")
    strip_down.put_back(desk, step)
    assert contents_of(desk, bag) == ()


def test_a_step_put_back_with_screws_over_tells(desk, job):
    step = strip_down.take_off(desk, job, "cover", screws=[Screws(4, "cover"), Screws(2, "bracket")], bag_number=1)
    strip_down.put_back(desk, step, [3, 2], over_reason="One thread is stripped.")
    left = strip_down.account_of(desk, job)
    assert (left.screws_left, [bag.number for bag in left.bags_left]) == (1, [1])
    assert not left.nothing_over
    words = over_in_words(left)
    assert words[0] == "Bags left: 1, screws left: 1."
    assert "Step 1, cover: 1 screw is over. One thread is stripped." in words


def test_more_screws_than_came_out_are_refused(desk, job):
    step = strip_down.take_off(desk, job, "cover", screws=[Screws(4)])
    for counts in ([5], [-1], [2, 2], []):
        with pytest.raises(Refused, match=r"strip_down\.too_many_back"):
            strip_down.put_back(desk, step, counts)


def test_what_stays_by_agreement_is_told_and_not_counted(desk, job):
    bag = begin_bag(desk, job, "armrest", 3, stays="goes home loose, the owner wants the holes closed")
    rest = add_part(desk, job, "armrest")
    move(desk, rest, "bag", bag_id=bag.id)
    left = strip_down.account_of(desk, job)
    assert left.nothing_over
    assert over_in_words(left) == [
        "Bags left: 0, screws left: 0.",
        "Bag 3 stays full by agreement: goes home loose, the owner wants the holes closed",
    ]
    edit_bag(desk, bag, stays="")
    assert not strip_down.account_of(desk, job).nothing_over


def test_stop_too_fragile_leaves_the_part_undisturbed(desk, job):
    control = add_part(desk, job, "volume control")
    step = strip_down.stop_too_fragile(desk, job, "Volume control", "The lugs are corroded through.")
    assert (step.stopped, step.part_ids, step.goes_back) == (True, (control.id,), False)
    (left,) = left_undisturbed(desk, job)
    assert (left.name, left.reason) == ("volume control", "The lugs are corroded through.")
    with pytest.raises(Refused, match=r"strip_down\.undisturbed"):
        strip_down.take_off(desk, job, part_ids=[control.id])
    assert strip_down.account_of(desk, job).nothing_over
    with pytest.raises(Refused, match=r"strip_down\.no_reason"):
        strip_down.stop_too_fragile(desk, job, "label", " ")


def test_stopping_at_something_not_on_the_list_puts_it_there(desk, job):
    strip_down.stop_too_fragile(desk, job, "paper label", "It flakes at a breath.")
    (part,) = parts_of(desk, job)
    assert (part.name, part.undisturbed) == ("paper label", True)


def test_a_part_comes_off_once(desk, job):
    nut = add_part(desk, job, "nut")
    first = strip_down.take_off(desk, job, part_ids=[nut.id])
    with pytest.raises(Refused, match=r"strip_down\.not_fitted"):
        strip_down.take_off(desk, job, part_ids=[nut.id])
    strip_down.put_back(desk, first)
    assert strip_down.take_off(desk, job, part_ids=[nut.id]).step_order == 2
    with pytest.raises(Refused, match=r"strip_down\.nothing"):
        strip_down.take_off(desk, job, "  ")


def test_what_is_out_is_not_put_back(desk, job):
    coil = add_part(desk, job, "pickup")
    step = strip_down.take_off(desk, job, part_ids=[coil.id], bag_number=1)
    move(desk, parts_of(desk, job)[0], "out", out_to="the winder")
    with pytest.raises(Refused, match=r"strip_down\.part_out"):
        strip_down.put_back(desk, step)
    assert "pickup is out to the winder." in over_in_words(strip_down.account_of(desk, job))


def test_a_removed_step_comes_back_with_its_part_in_its_bag(desk, job):
    guard = add_part(desk, job, "pickguard")
    step = strip_down.take_off(desk, job, part_ids=[guard.id], bag_number=1)
    strip_down.remove_step(desk, step)
    assert [part.place for part in parts_of(desk, job)] == ["fitted"]
    back = strip_down.bring_step_back(desk, step.id)
    assert back.step_order == 1
    assert [part.place for part in parts_of(desk, job)] == ["bag"]


def test_another_bag_takes_the_part_along_and_no_bag_leaves_it_on_the_bench(desk, job):
    guard = add_part(desk, job, "pickguard")
    step = strip_down.take_off(desk, job, part_ids=[guard.id], bag_number=1)
    step = strip_down.edit_step(desk, step, bag_number=2)
    bags = {bag.id: bag.number for bag in desk.store.find(Bag, job_id=job.id)}
    assert bags[parts_of(desk, job)[0].bag_id] == 2
    step = strip_down.edit_step(desk, step, bag_number=None)
    assert parts_of(desk, job)[0].place == "bench"
    strip_down.edit_step(desk, step, part_ids=())
    assert parts_of(desk, job)[0].place == "fitted"


def test_neighbours_change_places(desk, job):
    steps = [strip_down.take_off(desk, job, name) for name in ("strings", "bridge", "pickguard")]
    strip_down.move_step(desk, steps[2], -1)
    assert [step.what for step in strip_down.steps_of(desk, job)] == ["strings", "pickguard", "bridge"]
    strip_down.move_step(desk, strip_down.steps_of(desk, job)[0], -1)
    assert [step.what for step in strip_down.reassembly(desk, job)] == ["bridge", "pickguard", "strings"]


def test_a_bag_in_use_is_kept_and_a_bad_number_is_told(desk, job):
    strip_down.take_off(desk, job, "cover", bag_number=1)
    (bag,) = desk.store.find(Bag, job_id=job.id)
    with pytest.raises(Refused, match=r"bags\.not_empty"):
        remove_bag(desk, bag)
    with pytest.raises(Refused, match=r"bags\.bad_number"):
        strip_down.take_off(desk, job, "cover", bag_number=0)


def test_two_people_ticking_one_step_are_told(desk, job):
    step = strip_down.take_off(desk, job, "cover", screws=[Screws(4)])
    strip_down.put_back(desk, step)
    with pytest.raises(Stale):
        strip_down.put_back(desk, step, [2])

"""The demonstration's readings, without its photos: what the bench would find in them."""

from __future__ import annotations

import json

import pytest

from condition.flow.before_strings import before_strings
from condition.flow.bench_sheet import bench_sheet
from condition.flow.demo import FOLDER
from condition.flow.demo_readings import readings
from condition.flow.findings import new_finding
from condition.records.job import Job


@pytest.fixture
def sheet(desk, job):
    for _ in range(9):
        new_finding(desk, desk.store.get(Job, job.id), "other")
    readings(desk, job, json.loads((FOLDER / "readings.json").read_text(encoding="utf-8")), {})
    return bench_sheet(desk, job)


def pair_of(sheet, what, string=None):
    return next(pair for pair in sheet.readings if (pair.what, pair.string) == (what, string))


def test_the_wandering_coil_is_steady_after(sheet):
    coil = pair_of(sheet, "coil")
    assert (coil.before.typed, coil.before.coil.state, coil.before.coil.wanders_to) == ("6.82 k", "wandering", "open")
    assert coil.before.corrected is None
    assert coil.after.coil.state == "steady"
    assert coil.after.corrected is not None
    assert (coil.verdict, coil.difference) == ("state", None)


def test_action_and_relief_differ_but_so_does_the_air(sheet):
    """TP-8: humidity of 31 and 46 % is no like condition, so neither is called changed."""
    for pair, difference in ((pair_of(sheet, "action", 1), -1.2), (pair_of(sheet, "relief"), -0.25)):
        assert pair.difference.value == pytest.approx(difference)
        assert abs(pair.difference.value) > pair.difference.expanded
        assert pair.verdict == "unlike"
        assert [code for code, _ in pair.unlike] == ["before_after.unlike_humidity"]


def test_the_fault_stands_for_its_finding_and_was_retested(sheet):
    (entry,) = sheet.faults
    assert entry.number == 9
    assert entry.fault.retest == "gone"
    assert [(sound.file_name, sound.media_type) for sound in entry.sounds] == [("cuts_out.wav", "audio/wav")]
    assert all(one.again != "not tried" for one in entry.fault.tries if one.effect != "not tried")


def test_the_volume_controls_code_is_left_unread(sheet):
    unread = [entry.stamp for entry in sheet.stamps if entry.stamp.left_unread]
    assert len(unread) == 1
    assert "solder undisturbed" in unread[0].reason


def test_nothing_was_wanting_before_the_strings_came_off(desk, job, sheet):
    assert all(state.done for state in before_strings(desk, job))
    assert sheet.later == "returned"

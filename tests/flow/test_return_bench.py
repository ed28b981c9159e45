"""Readings and tests beside the intake's, at whichever handover a check is about. Invented readings."""

from __future__ import annotations

import pytest

from condition.flow.bench_sheet import bench_sheet
from condition.flow.function_test import add_test, tried
from condition.flow.readings import type_reading
from condition.flow.return_check import open_check


@pytest.fixture
def read(desk, job):
    """Relief and the jack at the intake, back from the specialist and at the return."""
    for occasion, relief, jack in (("intake", "0.45 mm", "noisy"), ("back", "0.30 mm", "works"),
                                   ("returned", "0.20 mm", "works")):  # fmt: skip
        type_reading(desk, job, "relief", relief, occasion=occasion, fret=7)
        tried(desk, add_test(desk, job, "jack", "Output jack", occasion), jack)
    return desk, job


@pytest.mark.parametrize(("later", "value"), [("back", 0.30), ("returned", 0.20)])
def test_a_check_sets_its_own_handovers_readings_beside_the_intakes(read, later, value):
    desk, job = read
    sheet = bench_sheet(desk, job, open_check(desk, job, "intake", later).later)
    (relief,) = sheet.readings
    assert sheet.later == later
    assert (relief.before.measurement.value, relief.after.measurement.value) == (0.45, value)
    assert relief.difference.value == pytest.approx(value - 0.45)
    (jack,) = sheet.tests
    assert (jack.before.result, jack.after.result, jack.after.occasion) == ("noisy", "works", later)


def test_when_it_goes_out_the_intake_stands_alone(read):
    desk, job = read
    sheet = bench_sheet(desk, job, open_check(desk, job, "intake", "out").later)
    assert sheet.later is None
    assert [(one.before.measurement.value, one.after, one.verdict) for one in sheet.readings] == [
        (0.45, None, "only before")
    ]
    assert [one.after for one in sheet.tests] == [None]


def test_at_the_return_it_is_the_benchs_own_sheet(read):
    desk, job = read
    assert bench_sheet(desk, job, open_check(desk, job, "intake", "returned").later) == bench_sheet(desk, job)

"""The story of the demonstration holds together: what is planned is estimated, one line is declined, everything that
went out came back. The data are invented; the checks are arithmetic and the story's own dates."""

from __future__ import annotations

import json

import pytest

from condition.flow.demo import FOLDER
from condition.flow.demo_plan import plan
from condition.flow.estimates import accepted_totals, answers_of, latest, sheet_of
from condition.flow.findings import new_finding, type_measurement
from condition.flow.handovers import handovers_of, papers_of, where_is
from condition.flow.plan import plan as planned
from condition.records.measurement import Measurement
from tests.opened_demo import KINDS


@pytest.fixture
def played(desk, job):
    findings = [new_finding(desk, job, kind, decision="repair") for kind in KINDS]
    sizes = ((0, "length", 148.2, "mm"), (2, "count", 1, ""), (3, "count", 4, ""))
    for at, quantity, value, unit in sizes:
        one = Measurement(quantity, value, unit, 0.0, "rule")
        type_measurement(desk, findings[at], one, overrules=True)
    plan(desk, job, json.loads((FOLDER / "plan.json").read_text(encoding="utf-8")), {})
    return desk


def test_the_story_of_the_demonstration(played, job):
    estimate = latest(played, job)
    sheet = sheet_of(played, estimate)
    assert (sheet.dated, sheet.valid_until, sheet.shop_name) == ("2025-11-19", "2025-12-17", "Tolland Bench")
    said = [one.answer for one in answers_of(estimate).values()]
    assert (said.count("declined"), said.count("accepted")) == (1, len(sheet.lines) - 1)
    assert all(one.at.startswith("2025-11-21") for one in estimate.answers)
    agreed = accepted_totals(played, estimate)
    assert agreed.net == sum(line.net for line in sheet.lines if answers_of(estimate)[line.id].answer == "accepted")
    crack = next(line for line in sheet.lines if line.finding == 1)
    assert (crack.work, crack.outside) == (round(14.8 * 950), True)
    assert {one.treatment.action for one in planned(played, job)} >= {"leave", "repair", "replace", "send out"}


def test_everything_that_went_out_came_back(played, job):
    steps = [(one.step, one.thing) for one in handovers_of(played, job)]
    assert steps == [
        ("intake", "instrument"),
        ("out", "part"),
        ("out", "instrument"),
        ("back", "part"),
        ("back", "instrument"),
        ("returned", "instrument"),
    ]
    december = where_is(played, job, "2025-12-24T00:00:00Z")
    assert december.person.name.startswith("Ysolde Marchbank")
    assert december.parts_out[0].person.name.startswith("Bram Okkels")
    now = where_is(played, job)
    assert (now.place, now.person.id, now.parts_out) == ("returned", job.client_id, ())
    last = handovers_of(played, job)[-1]
    assert "wood papers" in {item.kind for item in last.packed}
    backs = [one for one in handovers_of(played, job) if one.step == "back"]
    assert all({file.nature for file in papers_of(played, job, one)} == {"invoice"} for one in backs)


def test_its_papers_are_written(played, job, tmp_path):
    from condition.flow.demo_plan import plan_papers

    written = plan_papers(played, job, tmp_path)
    assert {name: (tmp_path / f"{name}.pdf").read_bytes()[:4] for name in written} == {
        "estimate": b"%PDF",
        "handover": b"%PDF",
    }

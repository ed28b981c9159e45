"""The demonstration's return against the model both sets of photos were rendered from.

``demo_images/truth.json`` tells what was repaired, what was left alone and what was planted; it is read here only.
"""

from __future__ import annotations

import json
import math
from dataclasses import replace

import pytest
from shapely.geometry import Point

from condition.flow.demo import FOLDER
from condition.flow.return_changes import changes_of, surface_of
from condition.flow.return_check import checks_of, open_changes, pairs_of, unpaired
from condition.flow.return_doubt import doubt_sorted, is_in_doubt
from condition.flow.return_verdicts import verdicts_of
from condition.records.finding import Finding
from condition.records.shapes import Ring

NUMBERS = {
    "top crack": 1,
    "bridge": 2,
    "end-pin hole": 3,
    "armrest hole 1": 4,
    "armrest hole 2": 4,
    "armrest hole 3": 4,
    "armrest hole 4": 4,
    "doubtful spot": 5,
    "arm wear": 6,
    "checking": 7,
    "plectrum wear": 8,
}
"""The finding each place of the model became."""

NEAR_PX = 12.0
SURE_SD = 10.0
"""Standard deviations of a pair's noise from which a change stands out on any photo, whatever is said of its light."""


MOST_TO_LOOK_AT = 15
"""As many places as a person looks at one by one within some minutes (common practice)."""


@pytest.fixture(scope="module")
def truth() -> list[dict]:
    return json.loads((FOLDER / "truth.json").read_text(encoding="utf-8"))["return"]["photos"]


@pytest.fixture(scope="module")
def check(opened):
    (check,) = checks_of(opened.desk, opened.job)
    return check


def states(truth: list[dict]) -> dict[int, str]:
    return {
        NUMBERS[place["name"]]: place["state"]
        for photo in truth
        for place in photo["findings"]
        if place["name"] in NUMBERS
    }


def middle(ring: Ring) -> tuple[int, ...]:
    return tuple(round(math.fsum(axis) / len(axis)) for axis in zip(*ring.points, strict=True))


def test_every_return_photo_is_paired_with_the_intake_photo_of_its_view(opened, check):
    names = {photo.id: name for name, photo in opened.photos.items()}
    pairs = pairs_of(opened.desk, check)
    assert {names[pair.after_id] for pair in pairs} == {f"return_{names[pair.before_id]}" for pair in pairs}
    assert len(pairs) == 5
    assert unpaired(opened.desk, check) == ((), ())
    assert [(names[pair.after_id], pair.refused) for pair in pairs if pair.state != "compared"] == []


def test_the_program_tells_each_repaired_finding_as_repaired_and_each_untouched_one_as_it_was(opened, check, truth):
    numbers = {finding.id: finding.number for finding in opened.findings.values()}
    proposed = {numbers[one.finding_id]: one.proposed for one in verdicts_of(opened.desk, check)}
    true = states(truth)
    assert {number: proposed[number] for number in true} == true


def test_the_hole_that_was_bushed_is_measured_beside_its_size_at_intake(opened, check, truth):
    verdict = next(
        one for one in verdicts_of(opened.desk, check) if one.finding_id == opened.findings[NUMBERS["end-pin hole"]].id
    )
    (bushed,) = (p for photo in truth for p in photo["findings"] if p["name"] == "end-pin hole")
    assert verdict.exceeds is True
    assert abs(verdict.after.value - bushed["values"]["diameter_mm"]) <= 2 * verdict.after.expanded


@pytest.mark.parametrize(("name", "file"), [("dent", "return_front.jpg"), ("plate screw", "return_headstock_back.jpg")])
def test_each_planted_damage_is_found_and_became_a_finding(opened, check, truth, name, file):
    (planted,) = (p for photo in truth if photo["file"] == file for p in photo["findings"] if p["name"] == name)
    pairs = {pair.id for pair in pairs_of(opened.desk, check) if pair.after_id == opened.photos[file].id}
    there = [
        change
        for change in changes_of(opened.desk, check)
        if change.pair_id in pairs and surface_of(change.ring_after_px, NEAR_PX).contains(Point(planted["centre_px"]))
    ]
    (accepted,) = [change for change in there if change.decision == "accepted"]
    assert accepted.sureness > SURE_SD
    assert accepted.reason == ""
    finding = opened.desk.store.get(Finding, accepted.finding_id)
    assert finding.number > max(NUMBERS.values())


def test_nothing_else_stands_as_sure(opened, check):
    names = {photo.id: name for name, photo in opened.photos.items()}
    pairs = {pair.id: names[pair.after_id] for pair in pairs_of(opened.desk, check)}
    rest = [
        (
            pairs[change.pair_id],
            tuple(round(math.fsum(axis) / len(axis)) for axis in zip(*change.ring_after_px.points, strict=True)),
        )
        for change in open_changes(opened.desk, check)
    ]
    assert rest == []


def test_doubtful_places_are_a_few_to_look_at_and_the_rest_told_together(opened, check):
    changes = [
        replace(one, decision="open", words="") if one.decision == "dismissed" else one
        for one in changes_of(opened.desk, check)
    ]
    photos = {photo.id: photo for photo in opened.photos.values()}
    first, groups = doubt_sorted(changes, pairs_of(opened.desk, check), photos)
    told = [*(one.id for one in first), *(key for group in groups for key in group.change_ids)]
    assert sorted(told) == sorted(one.id for one in changes if is_in_doubt(one))
    assert len(first) <= MOST_TO_LOOK_AT
    assert all(group.area_mm2 is not None for group in groups)

"""The demonstration job against the model its photos were rendered from.

The examiner's marks in ``demo_images/job.json`` were placed by eye on the photos; ``demo_images/truth.json`` tells the
sizes that the model has, and is read here only.
"""

from __future__ import annotations

import json
import math
from dataclasses import dataclass

import pytest

from condition.flow.demo import FOLDER
from condition.flow.findings import measurements_of
from condition.flow.marked import OUTLINE
from condition.records.mark import Mark
from condition.records.measurement import Measurement
from tests.opened_demo import KINDS, Opened

OUTLINED = ("front.jpg", "back.jpg", "headstock_back.jpg")


@dataclass(frozen=True)
class Compared:
    """A true value beside what the job measured of it; ``unit`` is mm or mm2."""

    name: str
    true: float
    measured: Measurement

    @property
    def off(self) -> float:
        """How far the measured value is off, in its own stated ±."""
        return abs(self.measured.value - self.true) / self.measured.expanded

    @property
    def widest_allowed(self) -> float:
        return 0.05 * self.true if self.measured.unit == "mm2" else 0.01 * self.true + 0.3

    def __str__(self) -> str:
        seen = self.measured
        return f"{self.name}: true {self.true:.2f}, measured {seen.value:.2f} ± {seen.expanded:.2f} {seen.unit}"


@pytest.fixture(scope="session")
def truth() -> dict[str, dict]:
    told = json.loads((FOLDER / "truth.json").read_text(encoding="utf-8"))
    return {photo["file"]: photo for photo in told["photos"]}


@pytest.fixture(scope="session")
def compared(opened, truth) -> list[Compared]:
    return [*_findings(opened, truth), *_holes(opened, truth), *_outlines(opened, truth)]


def _true(truth: dict[str, dict], name: str) -> dict[str, float]:
    return next(f["values"] for photo in truth.values() for f in photo["findings"] if f["name"] == name)


def _findings(opened: Opened, truth: dict[str, dict]) -> list[Compared]:
    asked = (
        (1, "top crack", "length", "length_mm"),
        (2, "bridge", "length", "length_mm"),
        (3, "end-pin hole", "diameter", "diameter_mm"),
        (6, "arm wear", "area", "area_mm2"),
        (7, "checking", "area", "area_mm2"),
        (8, "plectrum wear", "length", "length_mm"),
        (8, "plectrum wear", "width", "width_mm"),
    )
    return [
        Compared(f"{number} {name} {quantity}", _true(truth, name)[key], _seen(opened, number, quantity))
        for number, name, quantity, key in asked
    ]


def _seen(opened: Opened, number: int, quantity: str) -> Measurement:
    found = measurements_of(opened.desk, opened.findings[number])
    return next(m for m in found if m.quantity == quantity and m.source == "photo")


def _holes(opened: Opened, truth: dict[str, dict]) -> list[Compared]:
    """Each marked armrest hole beside the true hole it lies in."""
    names = {photo.id: name for name, photo in opened.photos.items()}
    pairs = []
    for mark in opened.desk.store.find(Mark, finding_id=opened.findings[4].id):
        there = [f for f in truth[names[mark.photo_id]]["findings"] if f["name"].startswith("armrest hole")]
        centre = (mark.shape_px.x, mark.shape_px.y)
        hole = min(there, key=lambda f: math.dist(f["centre_px"], centre))
        assert math.dist(hole["centre_px"], centre) < mark.shape_px.radius
        diameter = next(m for m in mark.measurements if m.quantity == "diameter")
        pairs.append(Compared(f"4 {hole['name']} diameter", hole["values"]["diameter_mm"], diameter))
    assert len({pair.name for pair in pairs}) == 4
    return pairs


def _outlines(opened: Opened, truth: dict[str, dict]) -> list[Compared]:
    pairs = []
    for name in OUTLINED:
        (mark,) = opened.desk.store.find(Mark, photo_id=opened.photos[name].id, role=OUTLINE)
        pairs.append(Compared(f"outline on {name}", truth[name]["outline_area_mm2"], mark.measurements[0]))
    return pairs


def test_nine_findings_are_numbered_in_order_and_worded(opened):
    of_intake = [opened.findings[number] for number in range(1, len(KINDS) + 1)]
    assert tuple(finding.kind for finding in of_intake) == KINDS
    for finding in of_intake:
        assert "" not in (finding.place, finding.observation, finding.interpretation, finding.decision)
        assert finding.observation != finding.interpretation
    assert [number for number, finding in opened.findings.items() if finding.state == "doubtful"] == [5]


def test_every_photo_has_its_scale(opened, truth):
    assert {name for name, photo in opened.photos.items() if photo.occasion == "intake"} == set(truth)
    assert [name for name, photo in opened.photos.items() if photo.plane is None] == []


def test_nine_of_ten_true_sizes_lie_within_the_stated_uncertainty(compared):
    outside = [pair for pair in compared if pair.off > 1]
    assert len(outside) <= 0.1 * len(compared), "\n".join(map(str, outside))


def test_no_size_is_off_by_more_than_twice_its_uncertainty(compared):
    assert [str(pair) for pair in compared if pair.off > 2] == []


def test_no_uncertainty_is_too_wide_to_be_of_use(compared):
    assert [str(pair) for pair in compared if pair.measured.expanded > pair.widest_allowed] == []


def test_the_gauge_reading_beside_the_groove_is_the_models_depth(opened, truth):
    depth = next(m for m in measurements_of(opened.desk, opened.findings[8]) if m.source == "gauge")
    assert abs(depth.value - _true(truth, "plectrum wear")["depth_mm"]) <= depth.expanded

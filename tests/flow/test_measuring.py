"""The flow's way from a photo's marks to measurements and their budget."""

from __future__ import annotations

import pytest
from planes import flat_plane

from condition.flow.measuring import budget_of, far_outside, measure_mark, measure_marks
from condition.records.shapes import Circle, Line, Point, Ring
from condition.words import say

SQUARE = Ring(((100.0, 100.0), (200.0, 100.0), (200.0, 200.0), (100.0, 200.0)))


def test_the_shape_decides_what_is_measured():
    plane = flat_plane(0.2, 0.002)

    def seen(kind, shape):
        return [m.quantity for m in measure_mark(kind, shape, plane)]

    assert seen("stain", Point(10, 10)) == []
    assert seen("crack", Line(((10, 10), (50, 40)))) == ["length"]
    assert seen("screw hole", Circle(500, 500, 20)) == ["diameter"]
    assert seen("finish loss", SQUARE) == ["area"]
    assert seen("wear groove", SQUARE) == ["length", "width"]


def test_a_mark_that_cannot_be_measured_is_told_beside_the_others():
    flat = Ring(((0.0, 0.0), (10.0, 0.0), (20.0, 0.0)))
    first, second = measure_marks([("stain", flat), ("stain", SQUARE)], flat_plane(0.2))
    assert (first.measurements, first.refused.code) == ((), "measure.empty_ring")
    assert second.measurements[0].value == pytest.approx(400.0)


def test_a_sharper_pick_is_worth_more():
    line = Line(((100, 100), (600, 100)))
    coarse, fine = (measure_mark("crack", line, flat_plane(0.2), "hand", sd)[0] for sd in (2.0, 0.5))
    assert coarse.expanded == pytest.approx(4 * fine.expanded, rel=1e-6)


def test_the_budget_has_words_for_every_part_and_its_shares_make_one():
    (area,) = measure_mark("stain", SQUARE, flat_plane(0.2, 0.002))
    rows = budget_of(area)
    assert sum(share for _, _, share in rows) == pytest.approx(1.0)
    assert [standard for _, standard, _ in rows] == sorted((s for _, s, _ in rows), reverse=True)
    assert all(say(code) != code for code, _, _ in rows)


@pytest.mark.parametrize(
    "name",
    ["corners", "plane residual", "card side", "print check", "focal length", "lens", "principal point", "height",
     "tilt", "known distance", "pick", "path", "edge softness", "shape", "instrument", "display step", "stated"],
)  # fmt: skip
def test_every_source_of_error_has_its_words(name):
    code = f"budget.{name.replace(' ', '_')}"
    assert say(code) != code


def test_without_cards_nothing_is_far_outside_them():
    assert far_outside(SQUARE, flat_plane()) == 0

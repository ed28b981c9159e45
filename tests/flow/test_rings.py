"""Rings cut and joined: areas by hand, and by the formula for a circle's segment (common practice in geometry)."""

from __future__ import annotations

import math

import pytest

from condition.errors import Refused
from condition.flow.rings import joined_rings, split_ring
from condition.records.shapes import Ring

SQUARE = Ring(
    ((0, 0), (10, 0), (10, 10), (0, 10)), (((2, 2), (4, 2), (4, 4), (2, 4)), ((6, 6), (8, 6), (8, 8), (6, 8)))
)


def area(ring: Ring) -> float:
    """Shoelace formula, holes taken off."""

    def loop(points) -> float:
        return (
            abs(sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in zip(points, (*points[1:], points[0]), strict=True))) / 2
        )

    return loop(ring.points) - sum(map(loop, ring.holes))


def test_a_ring_is_split_and_each_hole_stays_in_its_part():
    parts = split_ring(SQUARE, ((5, -1), (5, 11)))
    assert [area(part) for part in parts] == [46, 46]
    assert [len(part.holes) for part in parts] == [1, 1]


def test_a_line_through_a_hole_opens_it():
    parts = split_ring(SQUARE, ((3, -1), (3, 11)))
    assert [area(part) for part in parts] == [64, 28]
    assert [len(part.holes) for part in parts] == [1, 0]


def test_the_parts_of_a_disc_are_its_segments():
    disc = Ring(tuple((100 * math.cos(k * math.pi / 1800), 100 * math.sin(k * math.pi / 1800)) for k in range(3600)))
    large, small = split_ring(disc, ((50, -200), (50, 200)))
    segment = 100**2 * (math.acos(0.5) - 0.5 * math.sin(math.acos(0.5)))
    assert area(small) == pytest.approx(segment, rel=1e-5)
    assert area(large) == pytest.approx(math.pi * 100**2 - segment, rel=1e-5)


def test_a_line_that_ends_inside_is_refused():
    with pytest.raises(Refused) as told:
        split_ring(SQUARE, ((5, -1), (5, 5)))
    assert told.value.code == "canvas.line_not_across"


def test_joined_rings_keep_what_is_open_in_both():
    other = Ring(((8, 0), (20, 0), (20, 10), (8, 10)), (((12, 4), (14, 4), (14, 6), (12, 6)),))
    whole = joined_rings(SQUARE, other)
    assert area(whole) == 200 - 4 - 4 - 4
    assert len(whole.holes) == 3
    over_a_hole = joined_rings(SQUARE, Ring(((1, 1), (5, 1), (5, 5), (1, 5))))
    assert area(over_a_hole) == 96


def test_rings_that_touch_along_an_edge_become_one_and_those_apart_or_at_a_corner_do_not():
    assert area(joined_rings(SQUARE, Ring(((10, 2), (15, 2), (15, 8), (10, 8))))) == 92 + 30
    for apart in (((11, 0), (15, 0), (15, 5)), ((10, 10), (15, 10), (15, 15))):
        with pytest.raises(Refused) as told:
            joined_rings(SQUARE, Ring(apart))
        assert told.value.code == "canvas.rings_apart"


def test_split_parts_join_back_to_the_whole():
    parts = split_ring(SQUARE, ((5, -1), (4.5, 5), (5, 11)))
    assert area(joined_rings(*parts)) == pytest.approx(area(SQUARE), abs=1e-9)

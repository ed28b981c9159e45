"""Areas, lengths and diameters with the uncertainties that can be worked out on paper (UN rows of the reference)."""

from __future__ import annotations

import math

import numpy as np
import pytest
from planes import flat_plane
from shapely.geometry import LineString

from condition.errors import Refused
from condition.measure.area import area_of, groove_of, loops_of, share_of
from condition.measure.budget import by_source, combined
from condition.measure.diameter import diameter_of, oval_of
from condition.measure.length import distance_between, length_of, smoothed
from condition.measure.way import Way
from condition.records.measurement import Measurement
from condition.records.shapes import Line, Ring

OFFSET = np.array([1500.0, 1200.0])
HAND = Way("hand", 0.1, 0.0)


def regular(n: int, radius: float) -> list[tuple[float, float]]:
    return [(radius * math.cos(2 * math.pi * k / n), radius * math.sin(2 * math.pi * k / n)) for k in range(n)]


def ring(points, holes=()) -> Ring:
    return Ring(_moved(points), tuple(_moved(hole) for hole in holes))


def _moved(points) -> tuple[tuple[float, float], ...]:
    return tuple((float(x), float(y)) for x, y in np.array(points, float) + OFFSET)


def part(measurement: Measurement, name: str) -> float:
    return dict(by_source(measurement.parts)).get(name, 0.0)


@pytest.mark.parametrize(
    ("points", "area", "standard"),
    [
        pytest.param([(0, 0), (10, 0), (10, 10), (0, 10)], 100, 1.414214, id="UN-20"),
        pytest.param([(0, 0), (30, 0), (30, 4), (0, 4)], 120, 3.026549, id="UN-21"),
        pytest.param([(0, 0), (4, 0), (0, 3)], 6, 0.353553, id="UN-22"),
        pytest.param([(0, 0), (6, 0), (6, 2), (2, 2), (2, 5), (0, 5)], 18, 0.685565, id="UN-23"),
        pytest.param([(3, 4), (5, 11), (12, 8), (9, 5), (5, 6)], 30, 0.812404, id="UN-24"),
        pytest.param(regular(12, 5), 75, 0.866025, id="UN-25"),
        pytest.param(regular(64, 5), 78.413712, 0.392069, id="UN-26"),
    ],
)
def test_area_and_its_uncertainty_from_the_vertices(points, area, standard):
    found = area_of(ring(points), flat_plane(), HAND)
    assert found.value == pytest.approx(area, abs=1e-6)
    assert part(found, "pick") == pytest.approx(standard, abs=2e-6)


@pytest.mark.parametrize(("scale", "standard"), [(0.005, 3.255764), (0.01, 3.862641)])
def test_area_with_vertices_and_scale(scale, standard):
    """UN-31 on the rectangle of UN-21."""
    found = area_of(ring([(0, 0), (30, 0), (30, 4), (0, 4)]), flat_plane(scale_standard=scale), HAND)
    assert combined(found.parts) == pytest.approx(standard, abs=2e-6)


def test_a_scale_one_percent_off_is_twice_that_for_areas():
    """UN-30: +1 % of length is +2.01 % of area."""
    square = ring([(0, 0), (10, 0), (10, 10), (0, 10)])
    assert area_of(square, flat_plane(1.01), HAND).value == pytest.approx(102.01)
    line = Line(_moved([(0, 0), (10, 0)]))
    assert length_of(line, flat_plane(1.01), HAND).value == pytest.approx(10.1)


def test_bent_line():
    """UN-34: (0,0) (10,0) (10,10) at 0.1: length 20, u 0.2."""
    found = length_of(Line(_moved([(0, 0), (10, 0), (10, 10)])), flat_plane(), HAND)
    assert found.value == pytest.approx(20)
    assert part(found, "pick") == pytest.approx(0.2, abs=1e-9)


def test_on_a_straight_line_only_the_ends_count():
    """UN-35: u = sqrt(2) sigma with any number of points."""
    for count in (2, 3, 9):
        points = [(10 * k / (count - 1), 0) for k in range(count)]
        found = length_of(Line(_moved(points)), flat_plane(), HAND)
        assert part(found, "pick") == pytest.approx(math.sqrt(2) * 0.1, abs=1e-9)


def test_distance_has_the_same_two_ends():
    found = distance_between((100, 100), (400, 500), flat_plane(0.2), HAND)
    assert (found.value, found.unit) == (pytest.approx(100), "mm")
    assert part(found, "pick") == pytest.approx(math.sqrt(2) * 0.1 * 0.2)


@pytest.mark.parametrize(("count", "standard"), [(8, 0.03536), (32, 0.01768)])
def test_diameter_of_scattered_rims(count, standard):
    """UN-36: N even points with radial sigma 0.05: u of the diameter 2 sigma / sqrt N (5,000 draws, 3 %)."""
    rng = np.random.default_rng(7)
    turn = np.arange(count) * 2 * np.pi / count
    radii = 5 + rng.normal(0, 0.05, (5000, count))
    found = [oval_of(np.column_stack([r * np.cos(turn), r * np.sin(turn)]))[0] for r in radii]
    assert np.std(found) == pytest.approx(standard, rel=0.03)


def test_holes_of_a_ring_are_taken_off():
    outer, inner = [(0, 0), (20, 0), (20, 10), (0, 10)], [(5, 2), (9, 2), (9, 6), (5, 6)]
    assert area_of(ring(outer, [inner]), flat_plane(), HAND).value == pytest.approx(184)


def test_a_loop_that_crosses_itself_counts_each_part_once():
    bow = [(0, 0), (10, 10), (10, 0), (0, 10)]
    assert len(loops_of(ring(bow))) == 2
    assert area_of(ring(bow), flat_plane(), HAND).value == pytest.approx(50)


def test_a_ring_that_encloses_nothing_is_refused():
    with pytest.raises(Refused, match=r"measure\.empty_ring"):
        area_of(ring([(0, 0), (10, 0), (20, 0)]), flat_plane(), HAND)


def test_a_share_does_not_feel_the_scale():
    face = ring([(-100, -50), (300, -50), (300, 350), (-100, 350)])
    found = share_of(ring([(0, 0), (40, 0), (40, 100), (0, 100)]), face, flat_plane(scale_standard=0.05), HAND, "p")
    assert found.value == pytest.approx(2.5)
    assert part(found, "card side") == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize(("length", "width"), [(60.0, 9.0), (40.0, 3.0), (14.0, 9.0)])
def test_a_slot_gives_back_its_length_and_width(length, width):
    drawn = np.array(LineString([(0, 0), (length - width, 0)]).buffer(width / 2, quad_segs=64).exterior.coords)[:-1]
    along, across = groove_of(ring(drawn * 5), flat_plane(0.2), HAND)
    assert along.value == pytest.approx(length, rel=3e-3)
    assert across.value == pytest.approx(width, rel=3e-3)


def test_the_oval_of_an_ellipse():
    turn = np.arange(90) * 2 * np.pi / 90
    mean, oval, left = oval_of(np.column_stack([5.1 * np.cos(turn), 4.9 * np.sin(turn)]) + 30)
    assert mean == pytest.approx(10, abs=4e-3)
    assert oval == pytest.approx(0.4, abs=2e-3)
    assert left < 2e-3


def test_a_fitted_round_rim_bounds_its_ovality_and_an_oval_one_tells_it():
    turn = np.arange(60) * 2 * np.pi / 60
    round_rim = np.column_stack([40 * np.cos(turn), 40 * np.sin(turn)]) + 1500
    oval_rim = np.column_stack([42 * np.cos(turn), 38 * np.sin(turn)]) + 1500
    fitted = Way("fitted", 0.2, 0.05)
    found, bound = diameter_of(round_rim, flat_plane(0.1), fitted, fitted=True)
    assert found.value == pytest.approx(8.0, abs=1e-6)
    assert (bound.quantity, bound.bound) == ("ovality", "below")
    _, oval = diameter_of(oval_rim, flat_plane(0.1), fitted, fitted=True)
    assert oval.value == pytest.approx(0.8, abs=0.01)
    assert oval.bound is None


def test_a_staircase_is_not_longer_than_its_line():
    """An 8-connected staircase is long by up to 8 %; smoothed along the path it is within half a percent."""
    x = np.arange(0, 300.0)
    stairs = np.column_stack([x, np.round(x * 0.4)])
    path = smoothed(stairs)
    length = np.hypot(*np.diff(path, axis=0).T).sum()
    straight = math.hypot(299, 299 * 0.4)
    assert abs(length / straight - 1) < 0.005
    assert np.hypot(*np.diff(stairs, axis=0).T).sum() / straight > 1.02


def test_hand_drawn_circles_are_uncertain_by_the_pick():
    from condition.measure.diameter import drawn_rim
    from condition.records.shapes import Circle

    (found,) = diameter_of(drawn_rim(Circle(1500, 1500, 30)), flat_plane(0.1), Way("hand", 1.0, 0.5))
    assert found.value == pytest.approx(6.0)
    assert found.expanded == pytest.approx(2 * math.hypot(1.0, 0.5) * 0.1 * math.sqrt(2), rel=1e-3)

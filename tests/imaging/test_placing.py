"""Where a photo lies on another of the same face: in other light, by points, and not at all.

Truth by construction: the second picture is the first one moved by a known homography and put in other light.
"""

from __future__ import annotations

import numpy as np
import pytest

from condition.flow.demo import FOLDER
from condition.imaging.decode import decode
from condition.imaging.edge_placing import placed_by_edges
from condition.imaging.hand_placing import placed_by_points
from condition.imaging.laid import laid_under
from condition.imaging.overlay import through
from condition.imaging.placing import base_px_of, photo_px_of
from condition.imaging.rigid import fitted_motion, robust_motion
from condition.imaging.thumbnails import thumbnail
from tests.light import in_other_light, seen_through

HELD_ELSEWHERE = np.array([[0.996, 0.021, 9.0], [-0.019, 0.993, 14.0], [2e-6, 4e-6, 1.0]])
"""A degree of turn, half a percent nearer, a slight tilt: a camera held twice by hand."""


@pytest.fixture(scope="module")
def front():
    return thumbnail(decode((FOLDER / "front.jpg").read_bytes(), name="front.jpg").rgb, 1200)


def places(size):
    width, height = size
    return np.array([(x * width, y * height) for x in (0.3, 0.5, 0.7) for y in (0.25, 0.5, 0.75)])


def test_a_picture_in_ultraviolet_finds_its_place_by_its_edges(front):
    shone = seen_through(in_other_light(front), HELD_ELSEWHERE)
    found = placed_by_edges(shone, front, (), (), None)
    size = front.shape[1::-1]
    true = places(size)
    seen = base_px_of(found, through(HELD_ELSEWHERE, true), None, None, size)
    assert np.hypot(*(seen - true).T).max() < 2.0
    back = photo_px_of(found, true, None, None, size)
    assert np.hypot(*(back - through(HELD_ELSEWHERE, true)).T).max() < 2.0


def test_another_face_finds_no_place_by_its_edges(front):
    head = thumbnail(decode((FOLDER / "headstock_back.jpg").read_bytes(), name="h.jpg").rgb, 1200)
    turned = np.ascontiguousarray(np.rot90(head))[: front.shape[0], : front.shape[1]]
    assert placed_by_edges(in_other_light(turned), front, (), (), None) is None


def test_the_edge_of_the_laid_picture_is_where_the_photo_has_it(front):
    moved = seen_through(front, HELD_ELSEWHERE)
    laid = laid_under(moved, lambda px: through(HELD_ELSEWHERE, px), *front.shape[1::-1])
    inner = np.s_[60:-60, 60:-60]
    assert np.abs(laid[inner].astype(int) - front[inner]).mean() < 2.0


def test_a_turn_is_found_among_mostly_wrong_pairs():
    rng = np.random.default_rng(5)
    here = rng.uniform(0, 300, (200, 2))
    turn = np.radians(31.0)
    matrix = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    there = here @ matrix.T + (40.0, -12.0) + rng.normal(0, 0.1, here.shape)
    there[60:] = rng.uniform(0, 300, (140, 2))
    found, kept = robust_motion(here, there, 0.6)
    assert kept[:60].mean() > 0.98
    assert kept[60:].mean() < 0.05
    assert np.degrees(np.arctan2(found[1, 0], found[0, 0])) == pytest.approx(31.0, abs=0.05)


def test_a_motion_of_three_points_can_be_worked_out_on_paper():
    here = np.array([(0, 0), (10, 0), (0, 10.0)])
    there = np.array([(5, 5), (5, 25), (-15, 5.0)])
    assert np.allclose(fitted_motion(here, there, scale=None), [[0, -2, 5], [2, 0, 5], [0, 0, 1]])


@pytest.mark.parametrize("count", [2, 3, 4, 6])
def test_points_by_hand_place_a_photo_without_a_scale(count):
    size = (1000, 800)
    true = np.array([(120, 90), (880, 140), (500, 720), (90, 700), (900, 690), (480, 400.0)])[:count]
    shift = np.array([[0.8, 0.05, 30.0], [-0.05, 0.8, 60.0], [0, 0, 1.0]])
    pairs = tuple((tuple(p), tuple(q)) for p, q in zip(true, through(shift, true), strict=True))
    found = placed_by_points(pairs, size, size)
    assert found.refusal == ""
    middle = np.array([[500.0, 400.0]])
    assert np.allclose(base_px_of(found, middle, None, None, size), through(shift, middle), atol=1e-6)


def test_points_that_are_too_few_or_too_near_say_so():
    size = (1000, 800)
    assert placed_by_points((((1, 1), (2, 2)),), size, size).refusal == "face.points_few"
    near = (((500, 400), (300, 300)), ((505, 402), (306, 303)))
    assert placed_by_points(near, size, size).refusal == "face.points_close"

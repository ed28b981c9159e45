"""Changes found and told apart, against what was planted."""

import cv2
import numpy as np
import pairs
import pytest
from pairs import with_disc

from condition.imaging.comparison import compared
from condition.records.plane import SizeCard
from condition.records.shapes import Ring


@pytest.fixture(scope="module")
def cat():
    return pairs.photograph("chelsea")


@pytest.fixture(scope="module")
def view(cat):
    return pairs.pose(cat.shape[1], cat.shape[0], 6, 4, 0.97)


def places(judged):
    return [middle(one.ring_before_px) for one in judged]


def middle(ring):
    """Centre of area of a ring (N, 2)."""
    about = cv2.moments(ring.astype(np.float32))
    return about["m10"] / about["m00"], about["m01"] / about["m00"]


def test_an_unchanged_face_in_other_light_shows_no_change(cat, view):
    found = compared(cat, pairs.taken_anew(cat, view, seed=3))
    assert found.changes == ()


def test_a_planted_disc_is_found_outlined_and_measured(cat, view):
    changed = with_disc(cat, 250.0, 60.0, 10.0, (60, 90, 60))
    found = compared(cat, pairs.taken_anew(changed, view, seed=3))
    (only,) = found.changes
    assert middle(only.ring_before_px) == pytest.approx((250, 60), abs=0.3)
    area = cv2.contourArea(only.ring_before_px.astype(np.float32))
    assert area == pytest.approx(np.pi * 10**2, rel=0.06)
    assert only.ring_after_px == pytest.approx(found.registration.overlay.to_after(only.ring_before_px))


def test_most_discs_down_to_five_pixels_and_a_delta_e_of_three_are_found_and_nothing_else(cat, view):
    changed, discs = pairs.planted(cat, seed=7)
    found = compared(cat, pairs.taken_anew(changed, view, seed=8)).changes

    def nearest(x, y):
        return min(discs, key=lambda disc: np.hypot(disc.x - x, disc.y - y) - disc.diameter / 2)

    told = [nearest(*middle) for middle in places(found)]
    assert all(np.hypot(disc.x - x, disc.y - y) < disc.diameter / 2 + 6
               for disc, (x, y) in zip(told, places(found), strict=True))  # fmt: skip
    assert len(told) >= 0.9 * len(discs)
    assert {disc for disc in discs if disc.diameter >= 12 and disc.delta_e >= 6} <= set(told)


def test_the_surest_change_comes_first(cat, view):
    changed = with_disc(with_disc(cat, 250, 60, 9, (60, 90, 60)), 180, 230, 9, (150, 120, 80))
    found = compared(cat, pairs.taken_anew(changed, view, seed=4))
    sureness = [one.change.peak for one in found.changes]
    assert len(sureness) == 2
    assert sureness == sorted(sureness, reverse=True)
    assert places(found.changes)[0] == pytest.approx((250, 60), abs=0.5)


def test_a_mirrored_lamp_is_told_as_a_reflection_and_kept(cat, view):
    after = pairs.seen_through(cat, view) / 255.0
    rows, columns = np.mgrid[: cat.shape[0], : cat.shape[1]]
    spot = np.exp(-((columns - 300) ** 2 + (rows - 120) ** 2) / (2 * 14.0**2))
    light = after**2.2 + 0.3 * spot[..., None]
    lit = (np.clip(light, 0, 1) ** (1 / 2.2) * 255).round().astype(np.uint8)
    found = compared(cat, lit)
    assert found.changes == ()
    assert [one.reason for one in found.doubtful] == ["reflection"]


def test_what_is_left_aside_takes_no_part(cat, view):
    changed = with_disc(cat, 250.0, 60.0, 10.0, (60, 90, 60))
    after = pairs.taken_anew(changed, view, seed=3)
    box = Ring(((230.0, 40.0), (270.0, 40.0), (270.0, 80.0), (230.0, 80.0)))
    assert compared(cat, after, left_aside=(box,)).changes == ()


def test_an_outline_keeps_the_rest_out(cat, view):
    changed = with_disc(cat, 60.0, 60.0, 10.0, (200, 30, 30))
    after = pairs.taken_anew(changed, view, seed=3)
    face = Ring(((120.0, 30.0), (430.0, 30.0), (430.0, 290.0), (120.0, 290.0)))
    assert compared(cat, after, outline_px=face).changes == ()
    assert len(compared(cat, after).changes) == 1


def test_a_size_card_and_its_margin_are_no_change(cat):
    side = 30.0
    corners = ((330.0, 200.0), (330.0 + side, 200.0), (330.0 + side, 200.0 + side), (330.0, 200.0 + side))
    changed = cat.copy()
    changed[194:236, 324:366] = 250
    changed[200:230, 330:360] = 10
    assert len(compared(cat, changed).changes + compared(cat, changed).doubtful) > 0
    found = compared(cat, changed, after_cards=(SizeCard(3, corners, 0.1),))
    assert found.changes == ()

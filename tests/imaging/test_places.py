"""Given places judged, and two return photos that settle each other, against what was planted."""

import numpy as np
import pairs
import pytest
from pairs import with_disc

from condition.imaging.comparison import compared
from condition.imaging.settled import settled
from condition.records.shapes import Circle, Line, Ring


@pytest.fixture(scope="module")
def cat():
    return pairs.photograph("chelsea")


@pytest.fixture(scope="module")
def view(cat):
    return pairs.pose(cat.shape[1], cat.shape[0], 6, 4, 0.97)


def lamp_at(rgb, x, y, height=0.3):
    """The photo with a soft mirrored lamp, added in light (a plain power of 2.2)."""
    rows, columns = np.mgrid[: rgb.shape[0], : rgb.shape[1]]
    spot = height * np.exp(-((columns - x) ** 2 + (rows - y) ** 2) / (2 * 14.0**2))
    light = (rgb / 255.0) ** 2.2 + spot[..., None]
    return (np.clip(light, 0, 1) ** (1 / 2.2) * 255).round().astype(np.uint8)


def test_only_the_place_that_changed_is_told_as_changed(cat, view):
    after = pairs.taken_anew(with_disc(cat, 250, 60, 8, (60, 90, 60)), view, seed=3)
    frame = Ring(((160.0, 200.0), (200.0, 200.0), (200.0, 240.0), (160.0, 240.0)))
    asked = (Circle(250, 60, 8), frame, Line(((120.0, 40.0), (160.0, 70.0))), Circle(-300, -300, 5))
    hole, plain, line, away = compared(cat, after, places=asked).places
    assert hole.changed
    assert not hole.reason
    assert hole.share > 0.5
    assert not plain.changed
    assert not line.changed
    assert away.unseen == "outside"


def test_a_place_says_where_it_lies_in_the_return_photo(cat, view):
    found = compared(cat, pairs.taken_anew(cat, view, seed=3), places=(Circle(250, 60, 8),))
    (place,) = found.places
    assert place.ring_after_px == pytest.approx(found.registration.overlay.to_after(place.ring_before_px))


def test_a_place_left_aside_is_not_judged(cat, view):
    box = Ring(((230.0, 40.0), (270.0, 40.0), (270.0, 80.0), (230.0, 80.0)))
    found = compared(cat, pairs.taken_anew(cat, view, seed=3), left_aside=(box,), places=(Circle(250, 60, 8),))
    assert found.places[0].unseen == "aside"


def test_a_second_photo_with_the_lamp_moved_tells_a_change_from_a_reflection(cat, view):
    after = pairs.seen_through(with_disc(cat, 250, 60, 10, (60, 90, 60)), view)
    one = compared(cat, lamp_at(after, 300, 180), places=(Circle(250, 60, 10),))
    two = compared(cat, lamp_at(after, 120, 120), places=(Circle(250, 60, 10),))
    assert "reflection" in {judged.reason for judged in one.doubtful}
    both = settled(one, two)
    (sure,) = both.changes
    assert sure.ring_before_px.mean(0) == pytest.approx((250, 60), abs=2)
    assert {judged.reason for judged in both.doubtful} == {"light"}
    assert both.places[0].changed


def test_what_both_photos_show_at_one_place_is_a_change_even_if_it_looks_like_a_lamp(cat, view):
    spotted = pairs.seen_through(lamp_at(cat, 300, 120), view)
    one, two = compared(cat, spotted), compared(cat, pairs.taken_anew(lamp_at(cat, 300, 120), view, seed=8))
    assert [judged.reason for judged in one.doubtful] == ["reflection"]
    assert any(np.hypot(*(c.ring_before_px.mean(0) - (300, 120))) < 8 for c in settled(one, two).changes)

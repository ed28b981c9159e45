"""A second return photo with the lamp moved settles what one photo alone leaves in doubt.

A photograph that scikit-image carries, with a planted disc and with a mirrored lamp that wanders between the two return
photos; that a mirror image moves with the lamp and a change of the surface does not is the law of reflection.
"""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from condition.flow.comparing import Compared, compare_photos, settle_by_second
from condition.records.shapes import Circle
from tests.pairs import photograph, pose, taken_anew, with_disc

SIDE_PX = 384
DISC, RADIUS = (142.0, 248.0), 9.0
LAMPS = ((225.0, 180.0), (248.0, 300.0))
"""Where the lamp mirrors in the first and in the second return photo."""
VIEWS = (pose(SIDE_PX, SIDE_PX, 3.0, 3.0, 1.0), pose(SIDE_PX, SIDE_PX, -2.0, 4.0, 1.0))


def mirrored(rgb: np.ndarray, x: float, y: float) -> np.ndarray:
    """A lamp's image: its own light added, fading out over some 20 px."""
    rows, columns = np.mgrid[: rgb.shape[0], : rgb.shape[1]]
    spot = 150 * np.exp(-((columns - x) ** 2 + (rows - y) ** 2) / (2 * 9.0**2))
    return np.clip(rgb + spot[..., None], 0, 250).round().astype(np.uint8)


def near(seen: tuple, place: tuple[float, float]) -> list:
    return [one for one in seen if np.hypot(*(np.mean(one.ring_before_px.points, axis=0) - place)) < 25]


@pytest.fixture(scope="module")
def photos() -> tuple[np.ndarray, ...]:
    rgb = cv2.resize(photograph("astronaut"), (SIDE_PX, SIDE_PX), interpolation=cv2.INTER_AREA)
    changed = with_disc(rgb, *DISC, RADIUS, (30, 60, 40))
    lit = (mirrored(changed, *lamp) for lamp in LAMPS)
    return rgb, *(taken_anew(one, view, 40 + k) for k, (one, view) in enumerate(zip(lit, VIEWS, strict=True)))


@pytest.fixture(scope="module")
def settled(photos) -> Compared:
    return settle_by_second(*photos, places=(Circle(*DISC, RADIUS), Circle(*LAMPS[0], RADIUS)))


def test_one_return_photo_alone_shows_the_mirrored_lamp_as_a_difference(photos):
    alone = compare_photos(*photos[:2])
    assert near((*alone.changes, *alone.doubtful), LAMPS[0])
    assert not near((*alone.changes, *alone.doubtful), LAMPS[1])


def test_what_both_return_photos_show_is_a_change(settled):
    (disc,) = near(settled.changes, DISC)
    assert disc.reason == ""
    assert settled.places[0].changed
    assert settled.places[0].reason == ""


def test_what_one_of_them_shows_is_told_as_light(settled):
    for lamp in LAMPS:
        assert near(settled.changes, lamp) == []
        assert {one.reason for one in near(settled.doubtful, lamp)} <= {"light", "reflection"}
        assert near(settled.doubtful, lamp)
    assert not settled.places[1].changed

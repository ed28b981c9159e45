"""Steep edges of an unchanged pair are no change; a scratch as long and thin is one. Photographs: ``skimage.data``."""

from __future__ import annotations

import cv2
import pairs
import pytest

from condition.imaging import comparison

POSE = (4, 3, 1.0)


def taken(rgb, seed):
    height, width = rgb.shape[:2]
    return pairs.taken_anew(rgb, pairs.pose(width, height, *POSE), seed)


def test_the_steepest_edges_of_an_unchanged_photo_are_told_as_edges_only():
    astronaut = pairs.photograph("astronaut")
    found = comparison.compared(astronaut, taken(astronaut, 900))
    assert not [one for one in found.changes if one.change.delta_e > 10]
    assert "edge" in {one.reason for one in found.doubtful}


@pytest.mark.parametrize(("width_px", "grey"), [(2, 60), (3, 110)])
def test_a_new_scratch_is_told(width_px, grey):
    coffee = pairs.photograph("coffee")
    scratched = coffee.copy()
    cv2.line(scratched, (40, 60), (110, 75), (grey, grey, grey), width_px, cv2.LINE_AA)
    found = comparison.compared(coffee, taken(scratched, 5))
    assert any(40 <= x <= 110 and 50 <= y <= 85 for x, y in (one.ring_before_px.mean(0) for one in found.changes))

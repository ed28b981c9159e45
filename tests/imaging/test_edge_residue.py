"""Steep edges of an unchanged pair are no change; a scratch as long and thin is one. Photographs: ``skimage.data``."""

from __future__ import annotations

import cv2
import numpy as np
import pairs
import pytest
from scipy.special import ndtr

from condition.imaging import comparison
from condition.imaging.change import Change
from condition.imaging.difference import Difference
from condition.imaging.edge_residue import is_edge_residue

POSE = (4, 3, 1.0)


def taken(rgb, seed):
    height, width = rgb.shape[:2]
    return pairs.taken_anew(rgb, pairs.pose(width, height, *POSE), seed)


def test_the_steepest_edges_of_an_unchanged_photo_are_not_told():
    astronaut = pairs.photograph("astronaut")
    assert comparison.compared(astronaut, taken(astronaut, 900)).changes == ()


@pytest.mark.parametrize(("moved_px", "residue"), [(0.6, True), (2.5, False)])
def test_a_steep_edge_that_lies_less_than_a_pixel_beside_is_residue(moved_px, residue):
    def edge(at):
        """A straight edge seen by a lens that blurs 0.8 px, 160 levels high, in all channels."""
        light = 40 + 160 * ndtr((np.arange(80) + 0.5 - at) / 0.8)
        return np.repeat(np.tile(np.rint(light), (60, 1))[..., None], 3, 2).astype(np.uint8)

    before, after = edge(40.0), edge(40.0 + moved_px)
    differs = np.abs(after[..., 0].astype(int) - before[..., 0]) > 20
    difference = Difference(np.where(differs, 9.0, 1.0).astype(np.float32), before, after)
    columns = np.flatnonzero(differs.any(0))
    window = (slice(0, 60), slice(int(columns[0]), int(columns[-1]) + 1))
    change = Change(np.zeros((3, 2)), 20.0, 9.0, window, differs[window], np.zeros(3), np.zeros(3))
    assert is_edge_residue(change, difference) == residue


@pytest.mark.parametrize(("width_px", "grey"), [(2, 60), (3, 110)])
def test_a_new_scratch_is_told(width_px, grey):
    coffee = pairs.photograph("coffee")
    scratched = coffee.copy()
    cv2.line(scratched, (40, 60), (110, 75), (grey, grey, grey), width_px, cv2.LINE_AA)
    found = comparison.compared(coffee, taken(scratched, 5))
    assert any(40 <= x <= 110 and 50 <= y <= 85 for x, y in (one.ring_before_px.mean(0) for one in found.changes))

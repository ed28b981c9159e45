"""Size cards that were read when a photo was taken in are kept out of the comparison, and not looked for again.

A photograph that scikit-image carries, with a planted disc.
"""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from condition.flow.comparing import compare_photos
from condition.imaging import markers
from condition.records.plane import SizeCard
from tests.pairs import photograph, pose, taken_anew, with_disc

SIDE_PX = 384
DISC, RADIUS = (142.0, 248.0), 9.0
CARD = SizeCard(3, ((120.0, 226.0), (164.0, 226.0), (164.0, 270.0), (120.0, 270.0)), 0.1, left_out="twice")
"""Lies over the disc; of no use for the plane, as its sides say nothing here."""


@pytest.mark.parametrize(("cards", "told"), [((), True), ((CARD,), False)])
def test_cards_read_before_are_taken_as_they_are(monkeypatch, cards, told):
    def looked_for(rgb):
        raise AssertionError("cards were looked for anew")

    monkeypatch.setattr(markers, "find_cards", looked_for)
    before = cv2.resize(photograph("astronaut"), (SIDE_PX, SIDE_PX), interpolation=cv2.INTER_AREA)
    changed = with_disc(before, *DISC, RADIUS, (30, 60, 40))
    after = taken_anew(changed, pose(SIDE_PX, SIDE_PX, 3.0, 3.0, 1.0), 40)
    seen = compare_photos(before, after, cards_seen=(cards, ()))
    near = [one for one in seen.changes if np.hypot(*(np.mean(one.ring_before_px.points, axis=0) - DISC)) < RADIUS]
    assert bool(near) == told

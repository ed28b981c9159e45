"""The scale as a person sees it: arrows and grid are where a camera of our own says they must be."""

from __future__ import annotations

import io
import math

import numpy as np
import pytest
from cameras import card_outline, over_bench
from PIL import Image
from planes import flat_plane

from condition.imaging.plane_from_cards import plane_from_cards
from condition.imaging.plane_picture import arrow_factor, grid_step_mm, scale_picture
from condition.records.plane import SizeCard

GREY = 128


def opened(jpeg: bytes) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(jpeg)).convert("RGB")).astype(int)


def test_grid_lines_come_every_so_many_millimetres():
    """At 0.5 mm a pixel, 20 mm are 40 px: the first step of the table whose lines stand 26 px apart."""
    seen = scale_picture(np.full((600, 800, 3), GREY, np.uint8), flat_plane(0.5, width=800, height=600))
    assert (seen.step_mm, seen.factor) == (20.0, 0.0)
    row = opened(seen.jpeg)[310, :, 0]
    lines = [x for x in range(1, 799) if row[x] > GREY + 25 and row[x] >= max(row[x - 1], row[x + 1])]
    gaps = np.diff([x for x in lines if x - 1 not in lines])
    assert len(gaps) > 15
    assert set(gaps) <= {39, 40, 41}


@pytest.mark.parametrize(("mm_per_px", "shrink", "step"), [(0.1, 1.0, 5.0), (0.1, 0.25, 20.0), (1.0, 1.0, 50.0)])
def test_the_step_keeps_lines_apart(mm_per_px, shrink, step):
    assert grid_step_mm(mm_per_px, shrink) == step


def test_the_longest_arrow_fits_and_its_factor_is_told():
    assert arrow_factor(0.2, 1.0) == 200.0
    assert arrow_factor(0.2, 0.35) == 500.0
    assert arrow_factor(0.0, 1.0) == 0.0


def test_an_arrow_points_from_the_fit_to_what_was_seen():
    """One corner of four cards is moved 3 px to the right: its own arrow is the longest and points right."""
    camera = over_bench(5, 40, 0, 560, 800, 1000, 750)
    places = ((-200.0, -130.0, 0.3), (200.0, -140.0, 2.0), (-190.0, 140.0, -1.0), (210.0, 130.0, 0.1))
    corners = [camera.shoot(card_outline(*place)) for place in places]
    corners[3][1] += (3.0, 0.0)
    cards = [SizeCard(i, tuple(map(tuple, px)), 1.5) for i, px in enumerate(corners)]
    plane = plane_from_cards(cards, 1000, 750, 800 / 1250 * math.hypot(36, 24))
    arrows = {card.id: np.array(card.residuals_px) for card in plane.cards}
    longest = max((tuple(left) for block in arrows.values() for left in block), key=lambda left: math.hypot(*left))
    assert tuple(arrows[3][1]) == longest
    assert longest[0] > 3 * abs(longest[1])
    seen = scale_picture(np.full((750, 1000, 3), GREY, np.uint8), plane)
    assert seen.longest_px == pytest.approx(math.hypot(*longest))
    x, y = corners[3][1] + 0.6 * seen.factor * np.array(longest)
    red, green, _ = opened(seen.jpeg)[round(y - 0.5), round(x - 0.5)]
    assert red > green + 60


def test_marks_to_be_pointed_out_are_ringed():
    picture = np.full((600, 800, 3), GREY, np.uint8)
    plane = flat_plane(0.5, width=800, height=600)
    plain, ringed = (opened(scale_picture(picture, plane, marks).jpeg) for marks in ((), [[(400.0, 300.0)]]))
    changed = np.argwhere(np.abs(plain - ringed).max(-1) > 60)
    distances = np.hypot(*(changed[:, ::-1] + 0.5 - (400, 300)).T)
    assert len(changed) > 60
    assert distances.min() > 8
    assert distances.max() < 16

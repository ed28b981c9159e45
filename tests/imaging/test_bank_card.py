"""A bank card by its sides: ISO/IEC 7810 ID-1, 85.60 x 53.98 mm, corners rounded by 3.18 mm."""

from __future__ import annotations

import math

import numpy as np
import pytest
from cameras import Camera, over_bench
from scenes import Paint, photo

from condition.imaging.bank_card import refined_bank_card
from condition.imaging.plane import to_mm
from condition.imaging.plane_from_cards import plane_from_bank_card

WIDE, TALL, ROUND = 85.60, 53.98, 3.18
CORNERS = np.array([(-WIDE / 2, TALL / 2), (WIDE / 2, TALL / 2), (WIDE / 2, -TALL / 2), (-WIDE / 2, -TALL / 2)])
TURN = np.array([[np.cos(0.2), np.sin(0.2)], [-np.sin(0.2), np.cos(0.2)]])


def camera() -> Camera:
    return over_bench(9, 40, 5, 320, 900, width=640, height=480)


def card(light: float, stripe: float) -> Paint:
    """A card of one colour with a stripe of another along its length, as on the back of one."""

    def paint(points: np.ndarray) -> np.ndarray:
        local = np.abs(points @ TURN.T)
        beyond = np.maximum(local - (WIDE / 2 - ROUND, TALL / 2 - ROUND), 0)
        inside = (local < (WIDE / 2, TALL / 2)).all(1) & (np.hypot(*beyond.T) < ROUND)
        high = (points @ TURN.T)[:, 1]
        return np.where(inside, np.where((high > 9) & (high < 20), stripe, light), np.nan)

    return paint


def shot(light: float, ground: float, stripe: float = 0.05, grain: float = 0.0):
    box = np.array([(-60.0, -50), (60, -50), (60, 50), (-60, 50)])
    scene = photo(camera(), [(card(light, stripe), box)], ground=ground, grain=grain)
    true = camera().shoot(np.column_stack([CORNERS @ TURN, np.zeros(4)]))
    return scene.pixels, true


@pytest.mark.parametrize(("light", "ground"), [(0.6, 0.2), (0.08, 0.35), (0.35, 0.1)])
def test_corners_set_by_hand_are_put_right(light, ground):
    pixels, true = shot(light, ground, grain=0.05)
    for seed in range(3):
        by_hand = true + np.random.default_rng(seed).normal(0, 1.5, (4, 2))
        found = refined_bank_card(pixels, by_hand)
        assert found is not None
        off = found.corners_px - true
        assert np.abs(off).max() < 0.3
        assert np.abs(off).max() < 4 * found.sd_px
        assert found.sd_px < 0.5


def test_the_scale_is_better_for_it():
    """Points off by two pixels make the card's sides wrong by up to a percent; the sides themselves do not."""
    pixels, true = shot(0.6, 0.2)
    by_hand = true + np.array([(2.0, 1.0), (-2.0, 1.5), (-1.5, -2.0), (2.0, -1.0)])
    focal = 900 / 800 * math.hypot(36, 24)
    found = refined_bank_card(pixels, by_hand)
    ends = camera().shoot(np.array([(-50.0, 0, 0), (50.0, 0, 0)]))

    def off(plane) -> float:
        return abs(float(np.hypot(*np.diff(to_mm(ends, plane), axis=0)[0])) - 100)

    rough = plane_from_bank_card(by_hand, 640, 480, focal, surface_height_mm=0.0)
    fine = plane_from_bank_card(found.corners_px, 640, 480, focal, pick_sd_px=found.sd_px, surface_height_mm=0.0)
    assert off(fine) < 0.15 < 0.5 < off(rough)
    assert fine.relative_expanded < 0.5 * rough.relative_expanded
    assert off(fine) / 100 < fine.relative_expanded


def test_where_there_is_no_card_none_is_fitted():
    pixels, true = shot(0.6, 0.2)
    assert refined_bank_card(np.full_like(pixels, 120), true) is None
    assert refined_bank_card(pixels, true + np.array([40.0, 30.0])) is None

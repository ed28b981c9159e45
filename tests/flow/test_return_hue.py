"""A part of another hue told from other light on the same part, on pictures with known colours.

Distances in a* b* are those of CIE 15; that lamps on a dielectric or metal add or take light of their own colour and
turn no grey into yellow is the dichromatic model (Shafer, Color Research and Application 10(4), 1985).
"""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from condition.flow.return_hue import is_another_hue
from condition.records.shapes import Ring
from tests.pairs import with_disc

STEEL, BRASS = (118, 118, 120), (168, 138, 62)
HEAD_PX = 20
MOVED_PX = 4
IDENTITY = (1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0)


@pytest.fixture(scope="module")
def plate() -> np.ndarray:
    """A brushed plate with an uneven surface, 200 x 200."""
    rng = np.random.default_rng(3)
    grain = cv2.GaussianBlur(rng.normal(0, 1, (200, 200)), (0, 0), 4)
    grain *= 14 / grain.std()
    return np.clip(np.array((96, 74, 44)) + grain[..., None], 0, 255).round().astype(np.uint8)


def ring(x: float = 100, y: float = 100, radius: float = HEAD_PX) -> Ring:
    turn = np.linspace(0, 2 * np.pi, 40, endpoint=False)
    return Ring(tuple(zip(x + radius * np.cos(turn), y + radius * np.sin(turn), strict=True)))


def moved(rgb: np.ndarray, by: int = MOVED_PX) -> np.ndarray:
    return np.roll(rgb, by, axis=1)


def told(before: np.ndarray, after: np.ndarray, where: Ring | None = None) -> bool:
    return is_another_hue(before, after, where or ring(), IDENTITY, (), 3.0)


def test_a_brass_screw_where_a_steel_one_was_is_another_though_it_lies_beside_itself(plate):
    before, after = with_disc(plate, 100, 100, HEAD_PX, STEEL), with_disc(plate, 100, 100, HEAD_PX, BRASS)
    assert told(before, moved(after))
    assert told(moved(after), before)


@pytest.mark.parametrize("level", [0.45, 0.7, 1.5])
def test_the_same_screw_darker_or_lighter_is_no_other(plate, level):
    before = with_disc(plate, 100, 100, HEAD_PX, STEEL)
    lit = np.clip(level * np.array(STEEL), 0, 255)
    assert not told(before, moved(with_disc(plate, 100, 100, HEAD_PX, lit)))


def test_a_warm_lamp_mirrored_in_a_part_of_the_screw_is_no_other(plate):
    before = with_disc(plate, 100, 100, HEAD_PX, STEEL)
    glint = with_disc(with_disc(plate, 100, 100, HEAD_PX, STEEL), 106, 94, 7, (255, 236, 190))
    assert not told(before, moved(glint))


def test_where_all_of_the_surroundings_change_their_hue_nothing_is_told(plate):
    before, after = with_disc(plate, 100, 100, HEAD_PX, STEEL), with_disc(plate, 100, 100, HEAD_PX, BRASS)
    warm = np.clip(after * np.array((1.35, 1.0, 0.6)), 0, 255).astype(np.uint8)
    restless = warm.copy()
    restless[::2] = after[::2] // 2
    assert not told(before, restless)


def test_another_part_under_it_is_no_part_swapped(plate):
    rng = np.random.default_rng(9)
    elsewhere = np.clip(rng.normal(90, 40, plate.shape), 0, 255).astype(np.uint8)
    assert not told(with_disc(plate, 100, 100, HEAD_PX, STEEL), with_disc(elsewhere, 100, 100, HEAD_PX, BRASS))


def test_a_streak_and_a_speck_are_no_parts(plate):
    before, after = with_disc(plate, 100, 100, HEAD_PX, STEEL), with_disc(plate, 100, 100, HEAD_PX, BRASS)
    streak = Ring(((60.0, 97.0), (140.0, 97.0), (140.0, 103.0), (60.0, 103.0)))
    assert not told(before, after, streak)
    assert not told(before, after, ring(radius=3.0))

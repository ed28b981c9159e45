"""Burnt-out channels of either photo, against a scene whose light is known where both cameras lost it."""

import cv2
import numpy as np
import pairs
import pytest

from condition.imaging.comparison import compared
from condition.imaging.cut_off import cut_alike
from condition.imaging.tone import fitted_tone, in_light_of


@pytest.fixture(scope="module")
def scene():
    """Light in 8-bit levels, (H, W, 3), a pale streaked board that goes beyond what a file holds."""
    rng = np.random.default_rng(5)
    grain = cv2.GaussianBlur(rng.normal(size=(240, 320)), (0, 0), sigmaX=12, sigmaY=0.7)
    rows, columns = np.mgrid[:240, :320]
    level = 165 + 75 * np.sin(columns / 50) * np.sin(rows / 40) + 22 * grain / grain.std()
    return np.clip(level, 20, None)[..., None] * (1.0, 0.93, 0.8)


def file_of(light):
    return np.clip(np.rint(light), 0, 255).astype(np.uint8)


def after_in_light(before, after):
    everywhere = np.ones(before.shape[:2], bool)
    tone = fitted_tone(before, after, everywhere)
    relit = in_light_of(after, tone)
    return relit, cut_alike(before, relit, tone, everywhere)[0]


def step(before, other, where):
    return float((other.astype(float) - before)[where].mean())


def test_what_the_return_photo_lost_at_its_stop_is_no_difference(scene):
    before, after = file_of(scene * 0.95), file_of(cv2.GaussianBlur(scene, (0, 0), 0.9) * 1.2)
    soft = cv2.GaussianBlur(before, (0, 0), 0.9)
    lost = (after[..., 0] == 255) & (before[..., 0] < 245)
    relit, cut = after_in_light(before, after)
    assert step(soft[..., 0], relit[..., 0], lost) < -6
    assert abs(step(soft[..., 0], cut[..., 0], lost)) < 2


def test_what_the_intake_photo_lost_at_its_stop_is_no_difference(scene):
    before, after = file_of(scene * 1.2), file_of(scene * 0.9)
    lost = scene[..., 0] * 1.2 > 270
    _, cut = after_in_light(before, after)
    assert abs(step(before[..., 0], cut[..., 0], lost)) < 1


def test_what_was_burnt_out_and_is_dark_differs_in_full(scene):
    before, after = file_of(scene * 1.2), file_of(scene * 0.9)
    rows, columns = np.mgrid[:240, :320]
    row, column = np.unravel_index(int(cv2.blur(scene[..., 0], (25, 25)).argmax()), (240, 320))
    spot = np.hypot(rows - row, columns - column) < 8
    after[spot] = 60
    relit, cut = after_in_light(before, after)
    assert step(before[..., 0], cut[..., 0], spot) == pytest.approx(step(before[..., 0], relit[..., 0], spot), abs=0.5)


def test_an_overexposed_photo_of_a_cup_tells_no_change():
    cup = pairs.photograph("coffee")
    view = pairs.pose(cup.shape[1], cup.shape[0], 10, 7, 1.04)
    light = cv2.GaussianBlur(pairs.seen_through(cup, view), (0, 0), 0.7) * 1.2
    noisy = light * (1.05, 1.0, 0.93) + np.random.default_rng(11).normal(0, 2, cup.shape)
    assert compared(cup, file_of(noisy)).changes == ()

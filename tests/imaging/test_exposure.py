"""Exposure, against pictures put together with known shares."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from condition.imaging.exposure import measure

WOOD = (120, 70, 40)


def board(width: int = 1600, height: int = 1200) -> np.ndarray:
    return np.full((height, width, 3), WOOD, np.uint8)


def with_lamp(x: float, y: float, sigma_px: float, width: int = 1600, height: int = 1200) -> np.ndarray:
    """A lamp mirrored in the finish: a Gaussian of seven times white, clipped."""
    rows, columns = np.mgrid[:height, :width] + 0.5
    light = 900 * np.exp(-((columns - x) ** 2 + (rows - y) ** 2) / 2 / sigma_px**2)
    return np.clip(board(width, height) + light[..., None], 0, 255).astype(np.uint8)


def clipped_area(sigma_px: float) -> float:
    """Where the least channel (40) reaches 247: 900 exp(-r2 / 2 s2) >= 207."""
    return np.pi * 2 * sigma_px**2 * np.log(900 / 207)


@pytest.mark.parametrize("sigma_px", [20, 40, 80])
def test_a_mirrored_lamp_is_found_where_it_is_and_as_large_as_it_is(sigma_px):
    seen = measure(with_lamp(700.5, 400.5, sigma_px))
    assert len(seen.spots) == 1
    assert (seen.spots[0].x_px, seen.spots[0].y_px) == pytest.approx((700.5, 400.5), abs=0.5)
    assert seen.spots[0].area_px == pytest.approx(clipped_area(sigma_px), rel=0.02)
    assert seen.glare == pytest.approx(clipped_area(sigma_px) / (1600 * 1200), rel=0.02)


def test_places_and_areas_are_those_of_the_large_photo():
    seen = measure(with_lamp(2100, 900, 120, 4800, 3600))
    assert (seen.spots[0].x_px, seen.spots[0].y_px) == pytest.approx((2100, 900), abs=3)
    assert seen.spots[0].area_px == pytest.approx(clipped_area(120), rel=0.03)


@pytest.mark.parametrize("soft_px", [0, 1, 2])
def test_white_paper_is_blown_but_no_mirrored_lamp(soft_px):
    picture = board()
    picture[300:700, 300:800] = 252
    picture = cv2.GaussianBlur(picture, (0, 0), soft_px) if soft_px else picture
    seen = measure(picture)
    assert seen.blown == pytest.approx(400 * 500 / (1600 * 1200), rel=0.05)
    assert seen.spots == ()


def test_two_lamps_and_a_sheet_are_told_apart():
    picture = np.maximum(with_lamp(300, 300, 30), with_lamp(1200, 900, 50))
    picture[100:200, 900:1300] = 250
    seen = measure(picture)
    assert len(seen.spots) == 2
    assert seen.spots[0].area_px > seen.spots[1].area_px


def test_the_dark_share_is_the_share_of_dark_pixels():
    picture = board()
    picture[:300] = (10, 9, 8)
    picture[300:600] = (30, 5, 5)
    assert measure(picture).dark == pytest.approx(0.25)


def test_one_burnt_channel_is_not_burnt_out():
    picture = board()
    picture[...] = (255, 140, 40)
    assert measure(picture).blown == 0


@pytest.mark.parametrize("level", [0, 128, 255])
def test_a_picture_of_one_level_is_judged_without_a_lamp(level):
    seen = measure(np.full((90, 120, 3), level, np.uint8))
    assert (seen.blown, seen.dark, seen.spots) == (float(level == 255), float(level == 0), ())


def test_a_single_pixel_is_judged():
    assert measure(np.zeros((1, 1, 3), np.uint8)).dark == 1

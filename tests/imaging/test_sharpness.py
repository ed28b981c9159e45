"""Sharpness, against edges of known blur (error functions) and real photographs blurred by a known amount."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from scipy.special import erf
from skimage import data

from condition.imaging.colour import coded, linear
from condition.imaging.sharpness import TILE_LIMIT, Sharpness, measure


def edges(sigma_px: float, *, noise: float = 0.0, degrees: float = 5.0, side: int = 640) -> np.ndarray:
    """Steps in linear light, blurred exactly by a Gaussian, sRGB-coded, with the camera's noise in levels."""
    y, x = np.mgrid[:side, :side] + 0.5
    turn = np.radians(degrees)
    light = np.full((side, side), 0.15)
    for step in range(4):
        across = (x - side * (step + 0.5) / 4) * np.cos(turn) + (y - side / 2) * np.sin(turn)
        light += 0.25 * (-1) ** step * (1 + erf(across / sigma_px / np.sqrt(2)))
    levels = coded(np.clip(light, 0, 1)) * 255 + np.random.default_rng(5).normal(0, noise, light.shape)
    return np.repeat(np.clip(levels + 0.5, 0, 255).astype(np.uint8)[..., None], 3, axis=2)


def blurred(rgb: np.ndarray, across_px: float, down_px: float | None = None) -> np.ndarray:
    light = linear(rgb / np.float32(255)).astype(np.float32)
    light = cv2.GaussianBlur(light, (0, 0), across_px, sigmaY=down_px or across_px)
    return (coded(light) * 255 + 0.5).astype(np.uint8)


@pytest.mark.parametrize("degrees", [5, 40, 85])
@pytest.mark.parametrize("noise", [0, 2])
@pytest.mark.parametrize("sigma_px", [0.7, 1.0, 1.5, 2.0, 3.0])
def test_the_blur_of_an_edge_is_measured_within_a_tenth(sigma_px, noise, degrees):
    seen = measure(edges(sigma_px, noise=noise, degrees=degrees))
    assert seen.across_px == pytest.approx(sigma_px, rel=0.1, abs=0.11)


@pytest.mark.parametrize("sigma_px", [4.0, 6.0])
def test_a_heavy_blur_under_noise_is_still_called_heavy(sigma_px):
    assert measure(edges(sigma_px)).across_px == pytest.approx(sigma_px, rel=0.1)
    assert measure(edges(sigma_px, noise=5)).across_px > 2.2


@pytest.mark.parametrize("photo", [data.astronaut, data.chelsea], ids=["a", "b"])
def test_a_real_photograph_blurred_by_four_pixels_measures_four(photo):
    """Photographs that come with scikit-image; the blurs add in squares."""
    sharp = measure(photo())
    assert measure(blurred(photo(), 4)).across_px == pytest.approx(np.hypot(sharp.across_px, 4), rel=0.1)


def test_a_camera_that_moved_blurs_one_direction():
    seen = measure(blurred(data.astronaut(), 4, 0.01))
    assert seen.across_px > 3
    assert seen.along_px < 1.2


def test_numbers_that_follow_from_the_blur():
    """10 to 90 % of a Gaussian edge is 2.563 sigma; its contrast is 10 % at 0.3415 / sigma cycles a pixel, so 1.14 px
    is 60 % of Nyquist, the least of FADGI's grades."""
    assert Sharpness(1.0, 1.0, 1).edge_px == pytest.approx(2.563, abs=1e-3)
    assert Sharpness(1.138, 1.0, 1).efficiency == pytest.approx(0.60, abs=1e-3)
    assert Sharpness(0.3, 0.3, 1).efficiency == 1.0


def test_where_there_are_no_edges_nothing_is_claimed():
    flat = np.full((600, 600, 3), 120, np.uint8)
    grain = np.clip(np.random.default_rng(2).normal(120, 6, (600, 600, 3)), 0, 255).astype(np.uint8)
    for picture in (flat, grain, flat[:10, :10], flat[:1, :1]):
        seen = measure(picture)
        assert (seen.across_px, seen.edge_px, seen.efficiency, seen.tiles) == (None, None, None, 0)


def test_a_sharp_part_speaks_for_a_photo_whose_background_is_soft():
    soft = blurred(edges(1.0, side=1024), 6)
    soft[:512] = edges(1.0, side=1024)[:512]
    assert measure(soft).across_px == pytest.approx(1.0, abs=0.15)


def test_a_large_photo_costs_no_more_than_the_tile_limit():
    assert measure(np.tile(edges(1.5, side=512), (8, 12, 1))).tiles <= TILE_LIMIT

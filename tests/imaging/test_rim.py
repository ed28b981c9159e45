"""Hole rims and crack sections against discs and ribbons of known size."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from drawn_edges import covered, crack, developed, hole

from condition.imaging.cross_section import cross_section
from condition.imaging.rim import blurred_disc, find_rim
from condition.imaging.softness import edge_softness
from condition.measure.diameter import oval_of


@pytest.mark.parametrize("blur", [0.5, 1.0, 2.0])
@pytest.mark.parametrize(("inner", "outer"), [(0.02, 0.3), (0.15, 0.3), (0.5, 0.25)])
def test_diameters_have_no_bias_by_blur_or_contrast(blur, inner, outer):
    """At most the larger of 0.02 px and a tenth of the spread (with the mean's own uncertainty on top)."""
    off = []
    for k in range(8):
        rng = np.random.default_rng(k)
        x, y = 30 + rng.uniform(-1, 1, 2)
        rim = find_rim(
            hole(10, x, y, blur, inner, outer, seed=k), x + rng.normal(), y + rng.normal(), 10 * rng.uniform(0.9, 1.1)
        )
        assert rim is not None
        off.append(oval_of(rim.points_px)[0] - 20)
    spread = np.std(off)
    assert abs(np.mean(off)) < max(0.02, 0.1 * spread) + 2 * spread / np.sqrt(8)


def test_a_three_millimetre_hole_is_good_to_a_twentieth():
    """3 mm at 0.15 mm a pixel: 20 px across; under 0.05 mm."""
    for k in range(4):
        rim = find_rim(hole(10, 30.3, 29.6, 1.2, seed=k), 30, 30, 9.5)
        assert abs(oval_of(rim.points_px)[0] * 0.15 - 3.0) < 0.05


def test_an_oval_hole_keeps_its_oval():
    rim = find_rim(hole(16, 36.2, 35.7, 0.9, stretch=1.1), 36, 36, 17)
    mean, oval, _ = oval_of(rim.points_px)
    assert mean == pytest.approx(33.6, abs=0.08)
    assert oval == pytest.approx(3.2, abs=0.15)


def test_where_there_is_no_hole_none_is_fitted():
    plain = developed(np.full((80, 80), 0.3), 0.8, 3.0, 1)
    assert find_rim(plain, 40, 40, 10) is None
    assert find_rim(hole(10, 30, 30, 1.0), 30, 30, 1.0) is None


def test_what_is_more_blurred_than_wide_is_not_measured():
    assert find_rim(hole(3, 23, 23, 2.0), 23, 23, 3.0) is None


def test_the_blurred_disc_is_the_blurred_disc():
    """cv2.GaussianBlur of a finely drawn disc as the second opinion."""
    share = covered(61, lambda a, b: np.hypot(a - 30.5, b - 30.5) < 8)
    blurred = cv2.GaussianBlur(share, (0, 0), 2.0)[30, 30:]
    assert blurred_disc(np.arange(31.0), 8.0, np.sqrt(4 + 1 / 12)) == pytest.approx(blurred, abs=4e-3)
    assert blurred_disc(np.array([99.0, 100.0, 101.0]), 100.0, 1.0) == pytest.approx([0.8413, 0.5, 0.1587], abs=1e-4)


@pytest.mark.parametrize(("width", "blur"), [(4, 0.5), (4, 1.0), (8, 0.5), (8, 1.0), (8, 2.0)])
@pytest.mark.parametrize(("inner", "outer"), [(0.05, 0.3), (0.5, 0.25)])
def test_crack_widths_have_no_bias_where_they_can_be_measured(width, blur, inner, outer):
    off = []
    for k in range(6):
        rgb, path = crack(width, blur, 0.5 * k, inner, outer, seed=k)
        found = cross_section(rgb, path)
        assert not found.bound
        assert abs(found.mean_px - width) < 4 * found.mean_sd_px + 0.1
        off.append(found.mean_px - width)
    spread = np.std(off)
    assert abs(np.mean(off)) < max(0.02, 0.1 * spread) + 2 * spread / np.sqrt(6)


@pytest.mark.parametrize(("width", "blur"), [(1, 0.8), (1, 2.0), (2, 1.0), (4, 2.0)])
def test_narrow_cracks_get_a_bound_that_holds(width, blur):
    for k in range(3):
        found = cross_section(*crack(width, blur, seed=k))
        assert found.bound
        assert width <= found.bound_px < width + 3.5 * blur + 1


def test_no_crack_no_width():
    plain = developed(np.full((140, 140), 0.3), 0.8, 3.0, 1)
    assert cross_section(plain, np.array([[20.0, 30], [110, 100]])) is None
    assert cross_section(plain, np.array([[20.0, 30], [22, 31]])) is None


def test_the_widest_place_of_a_wedge():
    share = covered(160, lambda a, b: np.abs(b - 80) < (4 + 4 * a / 160) / 2)
    found = cross_section(developed(0.3 - 0.25 * share, 0.8, 2.0, 3), np.array([[8.0, 80.0], [152.0, 80.0]]))
    assert found.mean_px == pytest.approx(6.0, abs=0.15)
    assert found.widest_px == pytest.approx(7.6, abs=0.3)


@pytest.mark.parametrize(("blur", "expected"), [(1.0, 0.146), (3.0, 0.439)])
def test_a_soft_edge_is_less_certain(blur, expected):
    """A Gaussian edge goes from 40 to 60 % over 0.507 sigma; half of it over sqrt 3."""
    share = covered(120, lambda a, b: np.hypot(a - 60, b - 60) < 35)
    rgb = developed(0.2 + 0.3 * share, blur, 1.0, 2)
    turn = np.arange(90) * 2 * np.pi / 90
    loop = 60 + 35 * np.column_stack([np.cos(turn), np.sin(turn)])
    assert edge_softness(rgb, loop) == pytest.approx(expected, rel=0.35)
    assert edge_softness(developed(np.full((120, 120), 0.3), 1.0, 2.0, 1), loop) is None

"""Colour, against Sharma, Wu and Dalal (2005), IEC 61966-2-1, scikit-image and colour-science."""

from __future__ import annotations

import tracemalloc

import numpy as np
import pytest
from skimage import color as peer

from condition.imaging.colour import ciede2000, coded, lab, linear

# Sharma, Wu and Dalal, Color Research and Application 30(1), 2005, table 1: L1 a1 b1 L2 a2 b2 dE00.
SHARMA = np.array(
    [
        [50.0000, 2.6772, -79.7751, 50.0000, 0.0000, -82.7485, 2.0425],
        [50.0000, 3.1571, -77.2803, 50.0000, 0.0000, -82.7485, 2.8615],
        [50.0000, 2.8361, -74.0200, 50.0000, 0.0000, -82.7485, 3.4412],
        [50.0000, -1.3802, -84.2814, 50.0000, 0.0000, -82.7485, 1.0000],
        [50.0000, -1.1848, -84.8006, 50.0000, 0.0000, -82.7485, 1.0000],
        [50.0000, -0.9009, -85.5211, 50.0000, 0.0000, -82.7485, 1.0000],
        [50.0000, 0.0000, 0.0000, 50.0000, -1.0000, 2.0000, 2.3669],
        [50.0000, -1.0000, 2.0000, 50.0000, 0.0000, 0.0000, 2.3669],
        [50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0009, 7.1792],
        [50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0010, 7.1792],
        [50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0011, 7.2195],
        [50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0012, 7.2195],
        [50.0000, -0.0010, 2.4900, 50.0000, 0.0009, -2.4900, 4.8045],
        [50.0000, -0.0010, 2.4900, 50.0000, 0.0010, -2.4900, 4.8045],
        [50.0000, -0.0010, 2.4900, 50.0000, 0.0011, -2.4900, 4.7461],
        [50.0000, 2.5000, 0.0000, 50.0000, 0.0000, -2.5000, 4.3065],
        [50.0000, 2.5000, 0.0000, 73.0000, 25.0000, -18.0000, 27.1492],
        [50.0000, 2.5000, 0.0000, 61.0000, -5.0000, 29.0000, 22.8977],
        [50.0000, 2.5000, 0.0000, 56.0000, -27.0000, -3.0000, 31.9030],
        [50.0000, 2.5000, 0.0000, 58.0000, 24.0000, 15.0000, 19.4535],
        [50.0000, 2.5000, 0.0000, 50.0000, 3.1736, 0.5854, 1.0000],
        [50.0000, 2.5000, 0.0000, 50.0000, 3.2972, 0.0000, 1.0000],
        [50.0000, 2.5000, 0.0000, 50.0000, 1.8634, 0.5757, 1.0000],
        [50.0000, 2.5000, 0.0000, 50.0000, 3.2592, 0.3350, 1.0000],
        [60.2574, -34.0099, 36.2677, 60.4626, -34.1751, 39.4387, 1.2644],
        [63.0109, -31.0961, -5.8663, 62.8187, -29.7946, -4.0864, 1.2630],
        [61.2901, 3.7196, -5.3901, 61.4292, 2.2480, -4.9620, 1.8731],
        [35.0831, -44.1164, 3.7933, 35.0232, -40.0716, 1.5901, 1.8645],
        [22.7233, 20.0904, -46.6940, 23.0331, 14.9730, -42.5619, 2.0373],
        [36.4612, 47.8580, 18.3852, 36.2715, 50.5065, 21.2231, 1.4146],
        [90.8027, -2.0831, 1.4410, 91.1528, -1.6435, 0.0447, 1.4441],
        [90.9257, -0.5406, -0.9208, 88.6381, -0.8985, -0.7239, 1.5381],
        [6.7747, -0.2908, -2.4247, 5.8714, -0.0985, -2.2286, 0.6377],
        [2.0776, 0.0795, -1.1350, 0.9033, -0.0636, -0.5514, 0.9082],
    ]
)
ONE, TWO, PUBLISHED = SHARMA[:, :3], SHARMA[:, 3:6], SHARMA[:, 6]
HUES_180_APART = slice(8, 15)


def test_the_published_differences():
    assert np.abs(ciede2000(ONE, TWO) - PUBLISHED).max() < 1e-4


def test_the_difference_is_the_same_both_ways_round():
    assert np.abs(ciede2000(ONE, TWO) - ciede2000(TWO, ONE)).max() < 1e-9


def test_half_precision_is_as_good_where_no_hue_is_opposite():
    """Pairs 9 to 15 sit on the jump of the mean hue: the last bit decides there (Sharma et al., section 3)."""
    seen = ciede2000(ONE.astype(np.float32), TWO.astype(np.float32))
    assert seen.dtype == np.float32
    error = np.abs(seen - PUBLISHED)
    assert np.delete(error, HUES_180_APART).max() < 2e-4
    assert error[HUES_180_APART].max() < 0.1


def test_it_is_not_the_older_difference():
    """dE*ab of pair 17 is 36.8680 (recomputed with colour-science)."""
    assert abs(np.linalg.norm(ONE[16] - TWO[16]) - 36.8680) < 1e-4
    assert abs(ciede2000(ONE[16], TWO[16]) - 36.8680) > 9


@pytest.mark.parametrize(
    ("value", "light"),
    [
        (1, 0.000303527),
        (10, 0.003035270),
        (11, 0.003346536),
        (64, 0.051269458),
        (119, 0.184474995),
        (128, 0.215860500),
        (188, 0.502886458),
        (254, 0.991102097),
    ],
)
def test_linear_light_of_8_bit_values(value, light):
    """IEC 61966-2-1, as colour-science 0.4.7 has it."""
    assert linear(np.array(value / 255)) == pytest.approx(light, abs=1e-9)


@pytest.mark.parametrize(("light", "value"), [(0.18, 0.461356), (0.5, 0.735357)])
def test_coded_values_of_linear_light(light, value):
    assert coded(np.array(light)) == pytest.approx(value, abs=1e-6)


def test_coding_undoes_decoding_for_every_8_bit_value():
    values = np.arange(256) / 255
    assert np.abs(coded(linear(values)) - values).max() < 1e-7


@pytest.mark.parametrize(
    ("rgb", "expected", "tolerance"),
    [
        ((128, 128, 128), (53.585, 0, 0), 0.01),
        ((119, 119, 119), (50.0344, 0, 0), 0.01),
        ((255, 255, 255), (100, 0, 0), 0.01),
        ((0, 0, 0), (0, 0, 0), 0.01),
        ((255, 0, 0), (53.24, 80.09, 67.20), 0.03),
        ((0, 255, 0), (87.735, -86.183, 83.180), 0.03),
        ((0, 0, 255), (32.296, 79.186, -107.857), 0.03),
        ((255, 255, 0), (97.140, -21.555, 94.478), 0.03),
        ((0x8B, 0x45, 0x13), (37.470, 26.442, 40.984), 0.03),
    ],
)
def test_lab_of_known_colours(rgb, expected, tolerance):
    """Values as scikit-image 0.26 and colour-science 0.4.7 have them (their white differs in the third digit)."""
    assert np.abs(lab(np.array(rgb, np.uint8)) - expected).max() <= tolerance


def test_a_picture_agrees_with_scikit_image_whatever_its_height():
    pictures = np.random.default_rng(3).integers(0, 256, (2, 131, 67, 3), np.uint8)
    ours, theirs = [lab(p) for p in pictures], [peer.rgb2lab(p) for p in pictures]
    assert ours[0].dtype == np.float32
    assert max(np.abs(a - b).max() for a, b in zip(ours, theirs, strict=True)) < 0.03
    assert np.abs(ciede2000(*ours) - peer.deltaE_ciede2000(*theirs)).max() < 0.03


def test_a_large_picture_needs_little_beside_its_result():
    shape = (1500, 1000, 3)
    one, two = np.full(shape, 40, np.float32), np.full(shape, 45, np.float32)
    tracemalloc.start()
    ciede2000(one, two)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak < 40_000_000

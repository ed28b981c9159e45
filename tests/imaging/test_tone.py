"""Two photos brought to one light, against the light they were made with."""

import numpy as np
import pairs
import pytest

from condition.imaging.colour import ciede2000, coded, lab, linear
from condition.imaging.tone import fitted_tone, in_light_of


@pytest.fixture(scope="module")
def cup():
    return pairs.photograph("coffee")


def relit(rgb, share, power=1.0):
    light = linear(rgb / 255.0) ** power * share
    return (np.clip(coded(light), 0, 1) * 255).round().astype(np.uint8)


def median_delta_e(one, two):
    return float(np.median(ciede2000(lab(one), lab(two))))


def everywhere(rgb):
    return np.ones(rgb.shape[:2], bool)


def test_another_exposure_and_white_balance_are_undone(cup):
    other = relit(cup, np.array([0.85, 0.8, 0.7]))
    tone = fitted_tone(cup, other, everywhere(cup))
    assert tone.slopes == pytest.approx(1.0, abs=0.03)
    assert median_delta_e(cup, in_light_of(other, tone)) < 0.7 < 3 < median_delta_e(cup, other)


def test_another_tone_curve_is_undone(cup):
    other = relit(cup, np.array([1.05, 1.0, 0.9]), power=1.15)
    tone = fitted_tone(cup, other, everywhere(cup))
    assert tone.slopes == pytest.approx(1 / 1.15, abs=0.05)
    assert median_delta_e(cup, in_light_of(other, tone)) < 0.9


def test_a_lamp_from_the_other_side_is_undone(cup):
    across = np.linspace(0.5, 0.95, cup.shape[1])[None, :, None]
    other = relit(cup, across)
    tone = fitted_tone(cup, other, everywhere(cup))
    assert median_delta_e(cup, in_light_of(other, tone)) < 1.0 < 4 < median_delta_e(cup, other)


def test_a_large_change_does_not_pull_the_light_with_it(cup):
    changed = cup.copy()
    changed[100:220, 200:330] = (30, 60, 160)
    other = relit(changed, np.array([0.85, 0.8, 0.75]))
    back = in_light_of(other, fitted_tone(cup, other, everywhere(cup)))
    away = np.ones(cup.shape[:2], bool)
    away[70:250, 170:360] = False
    assert np.median(ciede2000(lab(cup), lab(back))[away]) < 1.0
    assert np.median(ciede2000(lab(cup), lab(back))[110:210, 210:320]) > 20


def test_nothing_to_go_by_leaves_the_photo_as_it_is():
    white = np.full((80, 90, 3), 255, np.uint8)
    tone = fitted_tone(white, white, everywhere(white))
    assert (in_light_of(white, tone) == 255).all()


def test_a_channel_is_brought_to_its_light_where_the_others_are_burnt_out(cup):
    """Exposed by the coded value instead of the light: as if the camera's curve had no linear part near black."""
    other = np.clip(np.rint(255 * (cup / 255.0) ** 0.964 * (1.18, 1.14, 1.06)), 0, 255).astype(np.uint8)
    back = in_light_of(other, fitted_tone(cup, other, everywhere(cup))).astype(float)
    pale = (cup[..., 2] > 200) & (other[..., 2] < 245)
    assert pale.sum() > 500
    assert abs((back - cup)[pale][:, 2].mean()) < 1.5

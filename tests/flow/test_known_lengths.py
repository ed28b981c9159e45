"""Distances along the strings as a photo's scale: exact rule of frets, TP-10 of the reference."""

from __future__ import annotations

import math

import pytest

from condition.errors import Refused
from condition.flow.known_lengths import SADDLE, SETTING_SD_MM, from_nut


def test_the_twelfth_fret_is_half_way_by_the_exact_rule():
    assert from_nut(648.0, 12, 2.0).mm == pytest.approx(324.0)
    assert from_nut(648.0, SADDLE, 2.0).mm == 648.0
    assert from_nut(648.0, 5, 2.0).mm == pytest.approx(648 * (1 - 2 ** (-5 / 12)))


def test_a_fret_takes_its_share_of_the_uncertainty():
    assert from_nut(648.0, 12, 2.0).sd_mm == pytest.approx(math.hypot(0.5, SETTING_SD_MM))
    assert from_nut(648.0, SADDLE, 2.0).sd_mm == pytest.approx(math.hypot(1.0, SETTING_SD_MM))


@pytest.mark.parametrize(("length", "fret"), [(0.0, 12), (9000.0, SADDLE), (648.0, 60)])
def test_what_no_board_has_is_refused(length, fret):
    with pytest.raises(Refused, match=r"scale\.fret"):
        from_nut(length, fret, 1.0)

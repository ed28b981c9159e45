"""Fret positions against the reference table (exact rule; 17.817: Koch; 18: Mottola, American Lutherie 130)."""

from __future__ import annotations

import pytest

from condition.errors import Refused
from condition.trade.frets import between_frets, fret_from_nut, scale_length_from
from condition.trade.tables import rows

COLUMNS = [
    ("et_25.5in", 25.5, "exact"),
    ("et_24.75in", 24.75, "exact"),
    ("et_648mm", 648.0, "exact"),
    ("et_352mm", 352.0, "exact"),
    ("div17.817_25.5in", 25.5, "17.817"),
    ("rule18_25.5in", 25.5, "18"),
]


@pytest.mark.parametrize(("column", "scale", "rule"), COLUMNS)
def test_positions(column, scale, rule):
    for row in rows("frets"):
        assert fret_from_nut(scale, int(row["fret"]), rule) == pytest.approx(float(row[column]), abs=6e-5)


def test_nut_to_twelfth_fret_is_half_only_by_the_exact_rule():
    """TP-10: a board divided by 18 falls 2.35 mm short at 25.5 in."""
    assert between_frets(648.0, 0, 12) == pytest.approx(324.0)
    short = 25.4 * (between_frets(25.5, 0, 12) - between_frets(25.5, 0, 12, "18"))
    assert short == pytest.approx(2.35, abs=0.006)


def test_scale_length_from_two_frets():
    assert scale_length_from(215.5119 - 70.6976, 2, 7) == pytest.approx(648.0, abs=0.01)


def test_what_no_board_has_is_refused():
    with pytest.raises(Refused, match=r"scale\.fret"):
        fret_from_nut(0.0, 12)
    with pytest.raises(Refused, match=r"scale\.fret"):
        scale_length_from(100.0, 5, 5)

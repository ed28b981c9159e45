"""What is typed from an instrument carries the instrument's accuracy (JCGM 100:2008, 4.3.7 and F.2.2.1)."""

from __future__ import annotations

import math

import pytest

from condition.errors import Refused
from condition.measure.typed import typed


def test_limit_and_step_are_rectangular():
    """UN-1: a / sqrt 3; UN-3: 0.2887 of the step."""
    found = typed("diameter", 3.02, "mm", "calliper", limit=0.03, step=0.01)
    assert found.expanded == pytest.approx(2 * math.hypot(0.03 / math.sqrt(3), 0.2887 * 0.01), rel=1e-4)
    assert found.source == "calliper"


def test_a_rule_is_coarser_than_a_calliper():
    assert typed("length", 140, "mm", "rule").expanded > 3 * typed("length", 140, "mm", "calliper").expanded


@pytest.mark.parametrize("value", [math.nan, math.inf, -1.0])
def test_what_is_no_length_is_refused(value):
    with pytest.raises(Refused, match=r"measure\.typed_value"):
        typed("length", value, "mm", "rule")


def test_accuracy_must_be_a_number():
    with pytest.raises(Refused, match=r"measure\.typed_accuracy"):
        typed("length", 1.0, "mm", "rule", limit=-0.1)

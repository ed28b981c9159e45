"""Values read off an instrument: their ±, that they can count before the photo's, and that a contradiction is told."""

from __future__ import annotations

import math

import pytest

from condition.errors import Refused
from condition.flow.findings import measurements_of, new_finding
from condition.flow.typed_in import apart, type_value, usual_limit
from condition.records.measurement import Measurement


def test_the_instrument_makes_the_uncertainty(desk, job):
    """A calliper of 0.03 mm limit (DIN 862, from memory) that shows 0.01 mm: JCGM 100:2008, 4.3.7 and F.2.2.1."""
    finding = new_finding(desk, job, "screw hole")
    kept = type_value(desk, finding, "diameter", 3.02, "mm", "calliper", usual_limit("calliper"), overrules=True)
    (found,) = kept.typed
    assert found.expanded == pytest.approx(2 * math.hypot(0.03 / math.sqrt(3), 0.01 / math.sqrt(12)))
    assert {part.name for part in found.parts} == {"instrument", "display step"}
    assert kept.typed_overrules
    assert measurements_of(desk, kept) == (found,)


def test_a_count_has_no_uncertainty_and_an_area_needs_one(desk, job):
    finding = new_finding(desk, job, "screw hole")
    kept = type_value(desk, finding, "count", 4, "", "count", None, overrules=False)
    assert kept.typed[0].expanded == 0
    with pytest.raises(Refused, match=r"measure\.typed_limit"):
        type_value(desk, kept, "area", 400.0, "mm2", "rule", None, overrules=False)
    with_limit = type_value(desk, kept, "area", 400.0, "mm2", "rule", 30.0, overrules=False)
    assert with_limit.typed[-1].expanded == pytest.approx(2 * 30 / math.sqrt(3))


@pytest.mark.parametrize(("value", "told"), [(3.05, 0), (3.4, 1)])
def test_what_calliper_and_photo_cannot_both_have_right_is_told(value, told):
    calliper = Measurement("diameter", 3.0, "mm", 0.04, "calliper")
    seen = Measurement("diameter", value, "mm", 0.06, "photo")
    other = Measurement("ovality", 9.0, "mm", 0.1, "photo")
    assert len(apart((calliper, seen, other))) == told

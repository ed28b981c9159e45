"""How a measured value is rounded and told."""

from __future__ import annotations

import math

import pytest

from condition.errors import InvalidRecord
from condition.records.measurement import Measurement, as_json, as_text, rounded


@pytest.mark.parametrize(
    ("value", "uncertainty", "shown"),
    [
        (10.05762, 0.027, ("10.058", "0.027")),
        (7904.739, 88.03, ("7905", "88")),
        (120.0, 3.2557, ("120.0", "3.3")),
        (254.2597, 0.2363, ("254.26", "0.24")),
        (99.96, 0.0995, ("99.96", "0.10")),
        (0.012345, 0.00105, ("0.0123", "0.0010")),
    ],
)
def test_two_digits_of_uncertainty_and_the_value_to_the_same_place(value, uncertainty, shown):
    """Recomputed with the uncertainties library; rule: JCGM 100:2008, 7.2.6. The last tie is binary."""
    assert rounded(value, uncertainty) == shown


@pytest.mark.parametrize(
    ("value", "uncertainty"),
    [
        (10.05762, 0.027),
        (7904.739, 88.03),
        (120.0, 3.2557),
        (0.5, 0.0996),
        (1234.5, 12.4),
        (-3.14159, 0.0271),
        (0.0, 0.5),
    ],
)
def test_the_uncertainties_library_agrees(value, uncertainty):
    ufloat = pytest.importorskip("uncertainties").ufloat
    theirs = f"{ufloat(value, uncertainty):.2uf}".split("+/-")
    assert tuple(rounded(value, uncertainty)) == tuple(text.strip("()") for text in theirs)


@pytest.mark.parametrize(
    ("measurement", "text"),
    [
        (Measurement("length", 148.23, "mm", 0.93, "photo"), "148.23 ± 0.93 mm"),
        (Measurement("area", 1406.0, "mm2", 31.0, "photo"), "14.06 ± 0.31 cm²"),
        (Measurement("area", 8.6, "mm2", 2.2, "photo"), "8.6 ± 2.2 mm²"),
        (Measurement("share", 2.5, "percent", 0.031, "photo"), "2.500 ± 0.031 %"),
        (Measurement("width", 0.3519, "mm", 0.0, "photo", bound="below"), "< 0.36 mm"),
        (Measurement("count", 4.0, "", 0.0, "count"), "4"),
        (Measurement("length", -0.0001, "mm", 0.5, "photo"), "0.00 ± 0.50 mm"),
        (Measurement("length", 1523.7, "mm", 120.0, "rule"), "1520 ± 120 mm"),
    ],
)
def test_as_a_person_reads_it(measurement, text):
    """A bound is never told lower than it is."""
    assert as_text(measurement) == text


def test_json_names_bound_and_source_where_they_apply():
    bound = Measurement("width", 0.3, "mm", 0.0, "photo", bound="below")
    assert as_json(bound) == {"value": 0.3, "expanded": 0.0, "unit": "mm", "source": "photo", "bound": "below"}
    assert "bound" not in as_json(Measurement("length", 1.0, "mm", 0.1, "calliper"))


@pytest.mark.parametrize(("value", "expanded"), [(math.nan, 0.1), (math.inf, 0.1), (1.0, -0.1), (1.0, math.nan)])
def test_what_cannot_be_is_no_record(value, expanded):
    with pytest.raises(InvalidRecord):
        Measurement("length", value, "mm", expanded, "photo")

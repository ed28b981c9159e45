"""One finding seen several times."""

from __future__ import annotations

import pytest

from condition.measure.combine import NOTE, agree, combine, weighted
from condition.records.measurement import Contribution, Measurement


def seen(value: float, standard: float, photo: str = "a", shared: float = 0.0) -> Measurement:
    parts = (Contribution("pick", standard), Contribution("card side", shared, True))
    return Measurement("length", value, "mm", 2 * (standard**2 + shared**2) ** 0.5, "photo", "m", None, parts, photo)


def test_two_photos_are_weighted_by_their_uncertainties():
    """Weights 1 / u2: 10.0 (0.1) and 10.3 (0.2) give 10.06 (0.0894)."""
    found = weighted([seen(10.0, 0.1), seen(10.3, 0.2, "b")])
    assert found.value == pytest.approx(10.06)
    assert found.expanded / 2 == pytest.approx(0.08944, abs=1e-5)
    assert found.note == ""


def test_a_scale_shared_by_both_marks_is_not_averaged_away():
    once = weighted([seen(10.0, 0.0, shared=0.1), seen(10.0, 0.0, shared=0.1)])
    assert once.expanded == pytest.approx(0.2)
    apart = weighted([seen(10.0, 0.0, "a", 0.1), seen(10.0, 0.0, "b", 0.1)])
    assert apart.expanded == pytest.approx(0.2 / 2**0.5)


def test_disagreement_is_told_and_widens_the_uncertainty():
    first, second = seen(10.0, 0.1), seen(11.0, 0.1, "b")
    assert not agree([first, second])
    found = weighted([first, second])
    assert found.note == NOTE
    assert found.expanded >= 0.5
    assert agree([first, seen(10.2, 0.1, "b")])


def test_a_value_outranks_a_bound_and_the_lowest_bound_stands():
    bound = Measurement("width", 0.4, "mm", 0.0, "photo", bound="below")
    lower = Measurement("width", 0.3, "mm", 0.0, "photo", bound="below")
    value = Measurement("width", 0.28, "mm", 0.05, "photo")
    assert weighted([bound, lower]) is lower
    assert weighted([bound, value]) is value


def test_quantities_are_combined_each_for_itself_and_one_mark_passes_through():
    a = (seen(10.0, 0.1), Measurement("width", 0.3, "mm", 0.1, "photo"))
    b = (seen(10.0, 0.1, "b"),)
    assert combine((a,)) == a
    assert [m.quantity for m in combine((a, b))] == ["length", "width"]
    assert combine(()) == ()

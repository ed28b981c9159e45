"""The budget's arithmetic against the worked examples of JCGM 100:2008 (GUM), annex H."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import t as student

from condition.measure.budget import (
    by_source,
    combined,
    difference_of,
    effective_freedom,
    linear,
    ratio_of,
    sum_of,
)
from condition.records.measurement import Contribution, Measurement, rounded


def photo_value(value: float, *parts: Contribution, photo: str = "p", unit: str = "mm2") -> Measurement:
    return Measurement("area", value, unit, 2 * combined(parts), "photo", "", None, parts, photo)


def readings(values: list[float]) -> Measurement:
    """The mean of simultaneous readings: each reading's own deviation is one shared error (GUM 4.2 and 5.2.3)."""
    data = np.array(values)
    n = len(data)
    effects = (data - data.mean()) / math.sqrt(n * (n - 1))
    parts = tuple(Contribution("reading", float(e), True, k) for k, e in enumerate(effects))
    return Measurement("resistance", float(data.mean()), "1", 2 * combined(parts), "meter", "", None, parts, "set")


def correlation(a: Measurement, b: Measurement) -> float:
    pairs = zip(a.parts, b.parts, strict=True)
    return sum(x.standard * y.standard for x, y in pairs) / (combined(a.parts) * combined(b.parts))


class TestGaugeBlock:
    """GUM H.1, end-gauge calibration: published uc 32 nm, with second-order term 34 nm, nu 16, t99 2.92, U99 93 nm."""

    PARTS = (("standard", 25.0, 18), ("comparison", 9.7, 25.6), ("expansion", 2.9, 50), ("temperature", 16.6, 2))

    def test_combined_standard_uncertainty(self):
        parts = [Contribution(name, u) for name, u, _ in self.PARTS]
        assert combined(parts) == pytest.approx(31.7, abs=0.05)
        assert rounded(50000838.0, combined(parts)) == ("50000838", "32")
        assert combined([*parts, Contribution("second order", 11.7)]) == pytest.approx(33.8, abs=0.05)

    def test_comparison_is_made_of_its_own_parts(self):
        assert combined([Contribution("d", u) for u in (5.8, 3.9, 6.7)]) == pytest.approx(9.7, abs=0.05)

    def test_effective_freedom_and_expanded(self):
        freedom = effective_freedom([(u, nu) for _, u, nu in self.PARTS])
        assert math.floor(freedom) == 16
        k = float(student.ppf(0.995, math.floor(freedom)))
        assert k == pytest.approx(2.92, abs=0.005)
        assert round(32 * k) == 93

    def test_parts_known_exactly_do_not_limit_the_freedom(self):
        assert effective_freedom([(1.0, math.inf)]) == math.inf


class TestResistanceAndReactance:
    """GUM H.2: five sets of simultaneous readings, correlated. Published R 127.732 (71), X 219.847 (295),
    Z 254.260 (236), r(R,X) -0.588, r(R,Z) -0.485, r(X,Z) 0.993."""

    V = readings([5.007, 4.994, 5.005, 4.990, 4.999])
    I = readings([19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3])  # noqa: E741
    PHI = readings([1.0456, 1.0438, 1.0468, 1.0428, 1.0433])

    def results(self) -> tuple[Measurement, Measurement, Measurement]:
        v, i, p = self.V.value, self.I.value, self.PHI.value

        def result(value: float, by_v: float, by_i: float, by_phi: float) -> Measurement:
            terms = [(by_v, self.V), (by_i, self.I), (by_phi, self.PHI)]
            return linear(terms, "resistance", "ohm", value, "")

        r, x, z = v * math.cos(p) / i, v * math.sin(p) / i, v / i
        return result(r, r / v, -r / i, -x), result(x, x / v, -x / i, r), result(z, z / v, -z / i, 0.0)

    def test_means(self):
        assert self.V.value == pytest.approx(4.9990, abs=5e-5)
        assert combined(self.V.parts) == pytest.approx(0.0032, abs=5e-5)
        assert combined(self.I.parts) == pytest.approx(0.0095e-3, abs=5e-8)
        assert combined(self.PHI.parts) == pytest.approx(0.00075, abs=5e-6)
        assert correlation(self.V, self.I) == pytest.approx(-0.36, abs=0.01)
        assert correlation(self.V, self.PHI) == pytest.approx(0.86, abs=0.01)
        assert correlation(self.I, self.PHI) == pytest.approx(-0.65, abs=0.01)

    def test_values_and_uncertainties(self):
        r, x, z = self.results()
        assert (r.value, combined(r.parts)) == pytest.approx((127.732, 0.071), abs=6e-4)
        assert (x.value, combined(x.parts)) == pytest.approx((219.847, 0.295), abs=7e-4)
        assert (z.value, combined(z.parts)) == pytest.approx((254.260, 0.236), abs=6e-4)

    def test_correlations(self):
        r, x, z = self.results()
        assert correlation(r, x) == pytest.approx(-0.588, abs=5e-4)
        assert correlation(r, z) == pytest.approx(-0.485, abs=5e-4)
        assert correlation(x, z) == pytest.approx(0.993, abs=5e-4)


def test_thermometer_line():
    """GUM H.3: a straight line through eleven corrections (table H.6, from memory; the published results confirm it).

    Published y1 -0.1712 (29), y2 0.00218 (67), r -0.930, s 0.0035, correction at 30 degrees -0.1494 (41)."""
    t = np.array([21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]) - 20
    b = np.array([-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160])
    design = np.column_stack([np.ones(11), t])
    gain = np.linalg.pinv(design)
    line = gain @ b
    s = math.sqrt(((b - design @ line) ** 2).sum() / 9)
    assert s == pytest.approx(0.0035, abs=5e-5)

    def coefficient(k: int) -> Measurement:
        parts = tuple(Contribution("reading", float(s * g), True, i) for i, g in enumerate(gain[k]))
        return Measurement("length", float(line[k]), "1", 2 * combined(parts), "meter", "", None, parts, "set")

    y1, y2 = coefficient(0), coefficient(1)
    assert (y1.value, combined(y1.parts)) == pytest.approx((-0.1712, 0.0029), abs=5e-5)
    assert (y2.value, combined(y2.parts)) == pytest.approx((0.00218, 0.00067), abs=5e-6)
    assert correlation(y1, y2) == pytest.approx(-0.930, abs=5e-4)
    at_30 = linear([(1.0, y1), (10.0, y2)], "length", "1", y1.value + 10 * y2.value, "")
    assert (at_30.value, combined(at_30.parts)) == pytest.approx((-0.1494, 0.0041), abs=5e-5)


def test_ten_resistors_in_series_with_one_standard():
    """GUM 5.2.2, example: u 1 ohm, where taking them as uncorrelated would give 0.32 ohm."""
    each = photo_value(1000.0, Contribution("standard", 0.1, shared=True), unit="ohm")
    assert combined(sum_of([each] * 10).parts) == pytest.approx(1.0)
    alone = photo_value(1000.0, Contribution("standard", 0.1), unit="ohm")
    assert combined(sum_of([alone] * 10).parts) == pytest.approx(0.316, abs=5e-4)


def test_sum_of_areas_adds_the_common_scale_linearly():
    """UN-32: two areas of 120 with 3.026549 of their own and 2.4 of shared scale: 6.431."""
    area = photo_value(120.0, Contribution("pick", 3.026549), Contribution("card side", 2.4, shared=True))
    assert combined(sum_of([area, area]).parts) == pytest.approx(6.431, abs=5e-4)


def test_difference_keeps_only_what_the_scale_does_to_it():
    """UN-33: on one photo the scale's part is 2 s times the difference; on two photos nothing cancels."""
    s = 0.01
    large = photo_value(150.0, Contribution("card side", 2 * s * 150, shared=True))
    small = photo_value(120.0, Contribution("card side", 2 * s * 120, shared=True))
    assert combined(difference_of(large, small).parts) == pytest.approx(2 * s * 30)
    elsewhere = photo_value(120.0, Contribution("card side", 2 * s * 120, shared=True), photo="q")
    assert combined(difference_of(large, elsewhere).parts) == pytest.approx(math.hypot(3.0, 2.4))


def test_a_share_of_one_photo_is_free_of_its_scale():
    part = photo_value(100.0, Contribution("card side", 2.0, shared=True))
    whole = photo_value(400.0, Contribution("card side", 8.0, shared=True))
    share = ratio_of(part, whole)
    assert (share.value, share.unit) == (25.0, "percent")
    assert share.expanded == pytest.approx(0.0, abs=1e-12)


def test_columns_of_one_source_are_different_errors():
    first = photo_value(10.0, Contribution("corners", 1.0, True, 0), Contribution("corners", 0.0, True, 1))
    second = photo_value(10.0, Contribution("corners", 0.0, True, 0), Contribution("corners", 1.0, True, 1))
    assert combined(sum_of([first, second]).parts) == pytest.approx(math.sqrt(2))


def test_a_typed_value_without_parts_enters_with_its_stated_uncertainty():
    typed = Measurement("area", 5.0, "mm2", 0.6, "rule")
    assert combined(sum_of([typed, typed]).parts) == pytest.approx(0.3 * math.sqrt(2))


def test_the_table_joins_the_columns_of_a_source_largest_first():
    parts = (Contribution("pick", 1.0), Contribution("corners", 3.0, True, 0), Contribution("corners", 4.0, True, 1))
    assert by_source(parts) == (("corners", 5.0), ("pick", 1.0))

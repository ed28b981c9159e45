"""Sizes beside a hole, against the drill and screw tables (ME rows of the reference)."""

from __future__ import annotations

import pytest

from condition.trade.holes import (
    candidates,
    cleaning_drills,
    drills,
    drills_within,
    hardware,
    nearest_drills,
    plugs,
    screws,
)
from condition.trade.tables import rows, source

INCH = ("number", "letter", "fraction")


@pytest.mark.parametrize(
    ("size", "inch"),
    [("#1", 0.2280), ("#30", 0.1285), ("#60", 0.0400), ("#69", 0.0292), ("#80", 0.0135), ("A", 0.234), ("Z", 0.413)],
)
def test_drill_sizes(size, inch):
    """ME-1, ASME B94.11M-1993."""
    (found,) = [drill for drill in drills() if drill.size == size]
    assert found.mm == pytest.approx(inch * 25.4, abs=1e-4)
    assert "B94.11M" in found.source


@pytest.mark.parametrize(
    ("mm", "size"),
    [(2.00, "#47"), (2.40, "3/32 in"), (3.00, "#31"), (3.18, "1/8 in"), (4.20, "#19"), (8.73, "11/32 in"),
     (9.53, "3/8 in"), (10.00, "25/64 in")],
)  # fmt: skip
def test_nearest_inch_drill(mm, size):
    """ME-6."""
    assert [drill.size for drill in nearest_drills(mm, INCH)] == [size]


def test_a_tie_shows_both():
    """ME-7: 6.35 mm is letter E and 1/4 in."""
    assert {drill.size for drill in nearest_drills(6.35, INCH)} == {"E", "1/4 in"}


def test_an_uncertain_hole_is_a_set():
    """ME-8: 3.0 +- 0.1 mm covers #32, #31 and 3 mm; not #33, not 1/8 in."""
    sizes = {drill.size for drill in drills_within(3.0, 0.1)}
    assert {"#32", "#31", "3 mm"} <= sizes
    assert not sizes & {"#33", "1/8 in"}


def test_cleaning_up_takes_the_next_size_not_the_nearest():
    """TP-6. A hole of 3.05 mm is nearest to #31 (3.048 mm), which would not cut all round."""
    found = cleaning_drills(3.05, 0.02)
    assert all(drill.mm > 3.03 for drill in found)
    sure = {drill.series: drill for drill in found if drill.sure}
    assert sure["number"].size == "#30"
    assert sure["fraction"].size == "1/8 in"
    assert sure["metric"].mm == pytest.approx(3.1)


def test_without_uncertainty_there_is_one_of_each_series():
    found = cleaning_drills(6.0, 0.0)
    assert [drill.size for drill in found if drill.series == "fraction"] == ["1/4 in"]
    assert [drill.size for drill in found if drill.series == "letter"] == ["B"]


def test_plugs_are_larger_than_the_hole():
    """ME-10."""
    assert [(p.size, p.sure) for p in plugs(5.0, 0.2)] == [("5 mm", False), ("6 mm", True), ("1/4 in", True)]


@pytest.mark.parametrize(
    ("gauge", "us", "uk"), [("4", 0.112, 0.108), ("8", 0.164, 0.164), ("12", 0.216, 0.220), ("6", 0.138, 0.136)]
)
def test_gauges_follow_their_formulas(gauge, us, uk):
    """ME-2, ME-3, ME-4: US 0.060 + 0.013 N (ASME B18.6.1), UK 0.052 + 0.014 N (BS 1210 practice)."""
    (row,) = [row for row in rows("wood_screws") if row["gauge"] == gauge]
    assert float(row["us_basic_inch"]) == pytest.approx(us) == pytest.approx(0.060 + 0.013 * int(gauge))
    assert float(row["uk_bs1210_inch"]) == pytest.approx(uk) == pytest.approx(0.052 + 0.014 * int(gauge))


def test_a_screw_hole_is_not_the_screw_body():
    """TP-6: a 2.4 mm hole may have held a #6 (body 3.505 mm), and lets a 2.3 mm body through, but no #8 through."""
    found = screws(2.4, 0.1)
    assert any(c.use == "screw thread" and (c.series, c.size) == ("US", "#6") for c in found)
    assert not any(c.use == "screw clearance" and c.size == "#8" for c in found)


def test_vintage_bushings():
    """Press-in bushing 11/32 in, seen 8.5 to 8.8 mm (common practice)."""
    assert {(c.series, c.size) for c in hardware(8.73, 0.05)} == {("press-in tuner bushing", "11/32 in")}
    assert {c.size for c in hardware(9.6, 0.3)} >= {"3/8 in", "10 mm", "25/64 in"}


def test_every_candidate_names_its_source():
    found = candidates(3.2, 0.1)
    assert {c.use for c in found} >= {"drill", "clean up", "plug", "screw thread"}
    assert all(c.source for c in found)
    assert "BS 1210" in source("wood_screws")


def test_the_list_beside_a_hole_is_whole_and_each_entry_has_its_source():
    """A 6.3 mm hole may have been drilled by every system, cleaned up in each, plugged, screwed or bushed."""
    found = candidates(6.35, 0.25)
    assert {c.use for c in found} == {"drill", "clean up", "plug", "screw thread", "screw clearance", "hardware"}
    series = {use: {c.series for c in found if c.use == use} for use in ("drill", "clean up", "plug")}
    assert {"metric", "fraction", "letter"} <= series["drill"]
    assert {"metric", "fraction", "letter"} <= series["clean up"]
    assert series["plug"] == {"metric", "inch"}
    assert {"metric", "US", "UK"} <= {c.series for c in found if c.use.startswith("screw")}
    assert all(c.source for c in found)
    assert {c.series for c in candidates(3.0, 0.1) if c.use == "drill"} >= {"number", "metric"}

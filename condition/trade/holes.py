"""What a measured hole may be, and what would put it right: always a set, never one 'nearest' size.

A plug needs the drill that cleans the hole up, which is the next size and not the nearest; a screw's hole is not the
size of its body. So a diameter with its uncertainty gives candidates, each with where it is from.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal

from condition.trade.tables import rows, source

Use = Literal["drill", "clean up", "plug", "screw thread", "screw clearance", "hardware"]

THREAD_SHARE = (0.60, 0.95)
"""A hole that held a wood screw is between its root (about 0.6) and just under its body (common practice)."""
CLEARANCE_MM = (0.0, 0.5)
"""A hole the body passes through freely is up to half a millimetre wider (common practice)."""
METRIC_SOURCE = "metric drills in steps of 0.1 mm, from 13 mm in steps of 0.5 mm (common practice)"
METRIC_SCREWS_MM = (2.5, 3.0, 3.5, 4.0, 4.5, 5.0, 6.0)
METRIC_SCREWS_SOURCE = "ISO metric wood screws as sold (common practice)"


@dataclass(frozen=True, slots=True)
class Candidate:
    """use : what for; series : metric, fraction, number, letter, US, UK, or an item of hardware; size : as spoken of;
    sure : it fits over the whole uncertainty, not just part of it"""

    use: Use
    series: str
    size: str
    mm: float
    source: str
    sure: bool = False


@cache
def drills() -> tuple[Candidate, ...]:
    """Every drill: numbers, letters, fractions of an inch and millimetres, smallest first."""
    where = source("drills")
    found = [_drill(row, where) for row in rows("drills")]
    tenths = [round(0.1 * k, 1) for k in range(5, 131)] + [13 + 0.5 * k for k in range(1, 25)]
    found += [Candidate("drill", "metric", f"{mm:g} mm", mm, METRIC_SOURCE) for mm in tenths]
    return tuple(sorted(found, key=lambda drill: drill.mm))


def _drill(row: dict[str, str], where: str) -> Candidate:
    size = f"{row['size']} in" if row["series"] == "fraction" else row["size"]
    return Candidate("drill", row["series"], size, round(float(row["inch"]) * 25.4, 4), where)


def nearest_drills(diameter_mm: float, series: tuple[str, ...] | None = None) -> tuple[Candidate, ...]:
    """The drill nearest to a diameter, with all that tie with it."""
    among = [drill for drill in drills() if series is None or drill.series in series]
    least = min(abs(drill.mm - diameter_mm) for drill in among)
    return tuple(drill for drill in among if abs(abs(drill.mm - diameter_mm) - least) < 1e-6)


def drills_within(diameter_mm: float, expanded_mm: float) -> tuple[Candidate, ...]:
    """Every drill that the hole may have been made with: its size lies within the ±."""
    low, high = diameter_mm - expanded_mm - 1e-9, diameter_mm + expanded_mm + 1e-9
    return tuple(drill for drill in drills() if low <= drill.mm <= high)


def cleaning_drills(diameter_mm: float, expanded_mm: float) -> tuple[Candidate, ...]:
    """For each series the drills that clean the hole up to round: the next size, or the next but one where the ± leaves
    it open; the last of each is sure to cut all round."""
    found = []
    for series in ("metric", "fraction", "number", "letter"):
        sizes = [drill for drill in drills() if drill.series == series]
        first = next((i for i, drill in enumerate(sizes) if drill.mm > diameter_mm - expanded_mm), None)
        last = next((i for i, drill in enumerate(sizes) if drill.mm > diameter_mm + expanded_mm), None)
        if first is None or last is None or sizes[last].mm > 1.4 * (diameter_mm + expanded_mm) + 0.5:
            continue
        for i in range(max(first, last - 2), last + 1):
            found.append(_used(sizes[i], "clean up", i == last))
    return tuple(found)


def plugs(diameter_mm: float, expanded_mm: float) -> tuple[Candidate, ...]:
    """Dowels and plugs for the hole once drilled to their size: the next of each system."""
    where = source("dowels")
    found = []
    for system in ("metric", "inch"):
        sizes = [row for row in rows("dowels") if row["system"] == system]
        larger = [row for row in sizes if float(row["mm"]) > diameter_mm - expanded_mm]
        for row in larger[:1] if not larger or float(larger[0]["mm"]) > diameter_mm + expanded_mm else larger[:2]:
            mm = float(row["mm"])
            found.append(Candidate("plug", system, row["size"], mm, where, mm > diameter_mm + expanded_mm))
    return tuple(found)


def screws(diameter_mm: float, expanded_mm: float) -> tuple[Candidate, ...]:
    """Wood screws whose hole this may be: threaded into it, or passing through it."""
    bodies = [("metric", f"{mm:g} mm", mm, METRIC_SCREWS_SOURCE) for mm in METRIC_SCREWS_MM]
    for row in rows("wood_screws"):
        for series, column in (("US", "us_basic_inch"), ("UK", "uk_bs1210_inch")):
            bodies.append((series, f"#{row['gauge']}", round(float(row[column]) * 25.4, 4), source("wood_screws")))
    found = []
    for series, size, body, where in bodies:
        reach: tuple[tuple[Use, float, float], ...] = (
            ("screw thread", body * THREAD_SHARE[0], body * THREAD_SHARE[1]),
            ("screw clearance", body + CLEARANCE_MM[0], body + CLEARANCE_MM[1]),
        )
        for use, low, high in reach:
            if low - expanded_mm <= diameter_mm <= high + expanded_mm:
                sure = low + expanded_mm <= diameter_mm <= high - expanded_mm
                found.append(Candidate(use, series, size, body, where, sure))
    return tuple(found)


def hardware(diameter_mm: float, expanded_mm: float) -> tuple[Candidate, ...]:
    """Bushings, posts and controls in common use whose hole this may be."""
    where = source("hardware_holes")
    found = []
    for row in rows("hardware_holes"):
        low, high = float(row["low_mm"]), float(row["high_mm"])
        if low - expanded_mm <= diameter_mm <= high + expanded_mm:
            sure = low + expanded_mm <= diameter_mm <= high - expanded_mm
            found.append(Candidate("hardware", row["item"], row["size"], float(row["mm"]), where, sure))
    return tuple(found)


def candidates(diameter_mm: float, expanded_mm: float) -> tuple[Candidate, ...]:
    """Everything that a hole of this diameter ± may be or take, by use."""
    return (
        *drills_within(diameter_mm, expanded_mm),
        *cleaning_drills(diameter_mm, expanded_mm),
        *plugs(diameter_mm, expanded_mm),
        *screws(diameter_mm, expanded_mm),
        *hardware(diameter_mm, expanded_mm),
    )


def _used(drill: Candidate, use: Use, sure: bool) -> Candidate:
    return Candidate(use, drill.series, drill.size, drill.mm, drill.source, sure)

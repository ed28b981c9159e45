"""What strings weigh and how hard they pull.

T = UW (2 L F)^2 / g with UW in pounds an inch, L in inches, F in hertz, g = 386.4 in/s^2: pounds-force.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from typing import Literal

from condition.trade.tables import rows, source

Winding = Literal["plain", "wound", "wound bronze", "other"]

GRAVITY_IN_S2 = 386.4
NEWTON_PER_LBF = 4.4482216152605
INCH_MM = 25.4
STEEL_LB_IN3 = 0.282
"""Density of plain steel strings: a .010 in string comes to 0.00002215 lb/in."""

BRONZE_OVER_STEEL = 1.09
"""Bronze-wound over steel-wound: windings of 8.8 against 7.9 g/cm3, four fifths of the weight (from memory)."""

PLAIN_SHARE, WOUND_SHARE, BRONZE_SHARE = 0.01, 0.04, 0.08
"""Standard uncertainty of an estimated unit weight: plain from its gauge, wound by the table, bronze by density."""


@dataclass(frozen=True, slots=True)
class UnitWeight:
    """lb_in : pounds an inch; standard : its standard uncertainty; source : where it is from; estimated : not from a
    table's own row"""

    lb_in: float
    standard: float
    source: str
    estimated: bool


def unit_weight(gauge_mm: float, winding: Winding) -> UnitWeight | None:
    """What a string of that gauge weighs: from the table, or estimated between its rows; None when there is no rule.

    Plain steel by its cross section; wound strings by the square of the gauge, its factor taken between the table's
    rows; bronze-wound ones from the wound ones by density; nylon, gut and others not at all.
    """
    if winding == "other" or not gauge_mm > 0:
        return None
    inch = gauge_mm / INCH_MM
    listed = _rows("plain" if winding == "plain" else "wound")
    if winding != "wound bronze":
        for gauge, weight in listed:
            if abs(gauge - inch) < 2e-4:
                return UnitWeight(weight, 0.005 * weight, source("string_weights"), False)
    if winding == "plain":
        weight = STEEL_LB_IN3 * math.pi / 4 * inch**2
        return UnitWeight(weight, PLAIN_SHARE * weight, source("string_weights"), True)
    weight = _factor(inch, listed) * inch**2 * (BRONZE_OVER_STEEL if winding == "wound bronze" else 1.0)
    share = BRONZE_SHARE if winding == "wound bronze" else WOUND_SHARE
    return UnitWeight(weight, share * weight, source("string_weights"), True)


@cache
def _rows(winding: str) -> tuple[tuple[float, float], ...]:
    return tuple(
        (float(row["gauge_inch"]), float(row["unit_weight_lb_in"]))
        for row in rows("string_weights")
        if row["winding"] == winding
    )


def _factor(inch: float, listed: tuple[tuple[float, float], ...]) -> float:
    """Weight over gauge squared, straight between the table's rows and held at its ends."""
    factors = [(gauge, weight / gauge**2) for gauge, weight in listed]
    if inch <= factors[0][0]:
        return factors[0][1]
    for (low, first), (high, second) in pairwise(factors):
        if inch <= high:
            return first + (second - first) * (inch - low) / (high - low)
    return factors[-1][1]


def tension_n(unit_weight_lb_in: float, length_mm: float, pitch_hz: float) -> float:
    """Pull of one string at pitch, newtons."""
    return NEWTON_PER_LBF * unit_weight_lb_in * (2 * length_mm / INCH_MM * pitch_hz) ** 2 / GRAVITY_IN_S2

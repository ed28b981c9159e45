"""A board's string length from where its frets lie, by the rule it was laid out with."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from condition.errors import Refused
from condition.trade.frets import Rule, fret_from_nut

RULES: tuple[Rule, ...] = ("exact", "18")


@dataclass(frozen=True, slots=True)
class BoardFit:
    """rule : how the frets were divided; length_mm, length_sd_mm : string length and its standard uncertainty from the
    scatter; off_mm : measured minus rule, fret by fret; spread_mm : root mean square of that"""

    rule: Rule
    length_mm: float
    length_sd_mm: float
    frets: tuple[int, ...]
    off_mm: tuple[float, ...]
    spread_mm: float


def fit_board(places_mm: Sequence[tuple[int, float]], rule: Rule) -> BoardFit:
    """Least squares of one string length through measured places (fret, mm from the nut's edge).

    Raises
    ------
    Refused
        ``frets.too_few``: there is no fret above the nut among them.
    """
    usable = [(fret, place) for fret, place in places_mm if fret > 0]
    if not usable:
        raise Refused("frets.too_few")
    shares = [fret_from_nut(1.0, fret, rule) for fret, _ in usable]
    squares = sum(share * share for share in shares)
    length = sum(share * place for share, (_, place) in zip(shares, usable, strict=True)) / squares
    off = tuple(place - share * length for share, (_, place) in zip(shares, usable, strict=True))
    spread = math.sqrt(sum(each * each for each in off) / len(off))
    free = len(off) - 1
    scatter = math.sqrt(sum(each * each for each in off) / free / squares) if free else 0.0
    return BoardFit(rule, length, scatter, tuple(fret for fret, _ in usable), off, spread)


def fit_rules(places_mm: Sequence[tuple[int, float]]) -> tuple[BoardFit, ...]:
    """The board by each rule, the one that fits best first."""
    return tuple(sorted((fit_board(places_mm, rule) for rule in RULES), key=lambda fit: fit.spread_mm))

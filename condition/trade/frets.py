"""Where frets lie, by the rules they have been laid out with; and the distances they lend a photo as a scale."""

from __future__ import annotations

from typing import Literal

from condition.errors import Refused

Rule = Literal["exact", "17.817", "18"]

DIVISORS: dict[str, float] = {"17.817": 17.817, "18": 18.0}
"""What is left to the saddle over this is the step to the next fret. Source: 17.817 in Koch, Building Electric Guitars;
18 in Mottola, American Lutherie 130; exact 17.817153745 = 1 / (1 - 2^(-1/12))."""


def fret_from_nut(scale_length: float, fret: int, rule: Rule = "exact") -> float:
    """Distance from the nut to a fret, in the scale length's unit.

    Raises
    ------
    Refused
        The scale length or the fret cannot be.
    """
    if not (0 < scale_length < 5000 and 0 <= fret <= 48):
        raise Refused("scale.fret", scale=f"{scale_length:g}", fret=str(fret))
    if rule == "exact":
        return scale_length * (1 - 2 ** (-fret / 12))
    return scale_length * (1 - (1 - 1 / DIVISORS[rule]) ** fret)


def between_frets(scale_length: float, first: int, second: int, rule: Rule = "exact") -> float:
    """Distance between two frets (0 is the nut): a known distance for a photo's scale."""
    return abs(fret_from_nut(scale_length, second, rule) - fret_from_nut(scale_length, first, rule))


def scale_length_from(distance: float, first: int, second: int, rule: Rule = "exact") -> float:
    """The scale length of a board whose two frets lie so far apart, in the distance's unit."""
    if first == second:
        raise Refused("scale.fret", scale="-", fret=str(first))
    return distance / between_frets(1.0, first, second, rule)

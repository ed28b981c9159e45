"""What a hand meter's reading is worth, by the two numbers its manual gives: percent of the reading and digits."""

from __future__ import annotations

import math

from condition.errors import Refused

USUAL_PERCENT, USUAL_DIGITS = 1.0, 5.0
"""A common hand meter on its resistance ranges, for who does not have the manual (common practice)."""


def limit_of_error(reading: float, percent: float, digits: float, resolution: float) -> float:
    """Limit of error in the reading's unit: percent of the reading plus digits of the last place.

    Raises
    ------
    Refused
        ``coil.meter``: the meter's numbers cannot be.
    """
    if not (0 <= percent <= 50 and 0 <= digits <= 1000 and resolution >= 0):
        raise Refused("coil.meter")
    return abs(reading) * percent / 100.0 + digits * resolution


def standard_uncertainty(reading: float, percent: float, digits: float, resolution: float) -> float:
    """The limit taken as rectangular (JCGM 100:2008, 4.3.7)."""
    return limit_of_error(reading, percent, digits, resolution) / math.sqrt(3.0)

"""Notes by name to hertz."""

from __future__ import annotations

import re

from condition.errors import Refused

A4_HZ = 440.0
"""Source: ISO 16:1975."""

_STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_SIGNS = {"": 0, "#": 1, "♯": 1, "b": -1, "♭": -1}
_NOTE = re.compile(r"([A-Ga-g])([#♯b♭]?)\s*(-?\d)")


def hertz(note: str, a4_hz: float = A4_HZ) -> float:
    """Frequency of a note with its octave, such as ``G2`` or ``F#4`` (C4 is the middle C), equal temperament.

    Raises
    ------
    Refused
        ``strings.note``
    """
    found = _NOTE.fullmatch(note.strip())
    if not found:
        raise Refused("strings.note", note=note)
    letter, sign, octave = found.groups()
    above_a4 = _STEPS[letter.upper()] + _SIGNS[sign] - 9 + 12 * (int(octave) - 4)
    return a4_hz * 2 ** (above_a4 / 12)

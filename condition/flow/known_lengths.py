"""Distances an instrument lends a photo without size cards: nut to saddle, nut to a fret."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from condition.flow.desk import Desk
from condition.flow.scales import set_scale
from condition.records.photo import Photo
from condition.trade.frets import between_frets

SADDLE = 0
"""Stands for the saddle where a fret is asked for: the whole string length."""
SETTING_SD_MM = 0.3
"""Standard uncertainty of where the nut's edge and a fret's crown are meant (common practice)."""


@dataclass(frozen=True, slots=True)
class KnownLength:
    """mm : distance from the nut; sd_mm : its standard uncertainty"""

    mm: float
    sd_mm: float


def from_nut(string_length_mm: float, fret: int, within_mm: float) -> KnownLength:
    """Distance from the nut to a fret of a board laid out by the exact rule, or to the saddle for :data:`SADDLE`.

    within_mm : ± (k = 2) of the string length; of it a fret takes its share

    Raises
    ------
    Refused
        ``scale.fret``: no such board.
    """
    share = 1.0 if fret == SADDLE else between_frets(1.0, 0, fret)
    between_frets(string_length_mm, 0, max(fret, 1))
    return KnownLength(share * string_length_mm, math.hypot(share * within_mm / 2, SETTING_SD_MM))


def lend_length(desk: Desk, photo: Photo, known: KnownLength) -> Photo:
    """Keep what a photo's known distance measures; its plane and its marks follow once the line is drawn."""
    return set_scale(desk, replace(photo, known_distance_mm=known.mm, known_distance_sd_mm=known.sd_mm))

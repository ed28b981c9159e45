"""The instrument itself; it can come back for many jobs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

FAMILIES = (
    "flat-top guitar",
    "archtop guitar",
    "classical guitar",
    "solid electric guitar",
    "hollow electric guitar",
    "electric bass",
    "acoustic bass",
    "mandolin",
    "octave mandolin",
    "mandola",
    "bouzouki",
    "banjo",
    "ukulele",
    "lute family",
    "other",
)


Handedness = Literal["right", "left"]
HANDEDNESS: tuple[Handedness, ...] = ("right", "left")


@dataclass(frozen=True, slots=True)
class Instrument:
    """What it is, as found; claims are kept apart from what was seen.

    claimed_maker, claimed_model, claimed_year : what the owner or seller says, text as given
    description : what is seen
    handedness : for which hand it is strung now, which alone says on which side the bass is; what it was built for or
        turned into is told in the description
    """

    id: str
    title: str
    family: str = "other"
    claimed_maker: str = ""
    claimed_model: str = ""
    claimed_year: str = ""
    serial: str = ""
    owner: str = ""
    description: str = ""
    materials: str = ""
    string_length_mm: float | None = None
    handedness: Handedness = "right"
    version: int = 0

"""A handover with every name it shows, ready to be set as a paper."""

from __future__ import annotations

from dataclasses import dataclass

from condition.records.finding import Finding
from condition.records.handover import Handover
from condition.records.instrument import Instrument
from condition.records.job import Job
from condition.records.person import Person
from condition.records.photo import Photo
from condition.records.shop import Shop


@dataclass(frozen=True, slots=True)
class HandoverSheet:
    """day : the local day it happens; ``photos`` show the condition at that moment; ``findings`` are those the
    specialist's work is about; ``part_names`` the parts by their names in the list"""

    handover: Handover
    job: Job
    instrument: Instrument
    shop: Shop
    giver: Person | None
    taker: Person | None
    carrier: Person | None
    day: str
    photos: tuple[Photo, ...] = ()
    findings: tuple[Finding, ...] = ()
    part_names: tuple[str, ...] = ()

    @property
    def thing(self) -> str:
        """What changes hands, in words; empty when it is the whole instrument."""
        if self.handover.thing == "instrument":
            return ""
        return self.handover.part_words or ", ".join(self.part_names)

"""A component of the instrument: where it is now, whose it is, original or not, and on what evidence."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from condition.errors import InvalidRecord

Place = Literal["fitted", "bag", "bench", "case", "out", "not there"]
"""Where a part is now: on the instrument, in a numbered bag, loose on the bench, in the case, out to somebody."""

Originality = Literal[
    "", "original", "period-correct", "reissue", "modern", "home-made", "modified", "missing", "cannot tell"
]
"""Empty while it was not judged; reissue, modern and home-made are the three ways of being later."""

ORIGINALITIES: tuple[Originality, ...] = (
    "original", "period-correct", "modified", "reissue", "modern", "home-made", "missing", "cannot tell"
)  # fmt: skip
LATER: tuple[Originality, ...] = ("reissue", "modern", "home-made")

Sureness = Literal["", "sure", "fairly sure", "doubtful"]
MaterialHow = Literal["suspected", "tested"]


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a job's parts list.

    code : the entry of the parts list it was laid out from (``condition.trade.parts``), empty for a part of its own
    group : where it stands in the list (body, neck, electrics ...)
    bag_id : the bag it is in while ``place`` is ``bag``; ``out_to`` : who has it while it is ``out``
    material : as named; ``material_how`` : suspected by eye, or tested
    originality, sure, judged_by : the interpretation, how sure and by whom
    observation : what is seen; interpretation : what it is taken to mean (kept apart, AIC Commentary 25)
    claim : what the seller or owner says of it, set against the evidence
    undisturbed : left undisturbed on purpose, with the reason: a decision, and who took it when
    """

    id: str
    job_id: str
    name: str
    group: str = "fittings"
    code: str = ""
    place: Place = "fitted"
    bag_id: str | None = None
    out_to: str = ""
    whose: str = ""
    material: str = ""
    material_how: MaterialHow = "suspected"
    originality: Originality = ""
    sure: Sureness = ""
    judged_by: str = ""
    condition: str = ""
    observation: str = ""
    interpretation: str = ""
    claim: str = ""
    undisturbed: bool = False
    undisturbed_reason: str = ""
    undisturbed_by: str = ""
    undisturbed_at: str = ""
    list_order: int = 0
    version: int = 0

    def __post_init__(self) -> None:
        if not self.name.strip():
            raise InvalidRecord("part", "no name")

    @property
    def untouched(self) -> bool:
        """Nothing was written down about it: it counts as not examined."""
        return not (self.originality or self.condition or self.observation or self.interpretation or self.undisturbed)


EvidenceKind = Literal[
    "date code",
    "maker's stamp",
    "serial inside",
    "solder undisturbed",
    "wear that matches",
    "factory finish",
    "holes that bear witness",
    "paperwork",
    "seller's claim",
    "other",
]
Speaks = Literal["for", "against", "neither"]


@dataclass(frozen=True, slots=True)
class Evidence:
    """One thing that speaks for or against a part being original.

    kind : what it is; a seller's claim stands beside the evidence, it is none
    photo_id : the picture that shows it; ``reading_id`` : the reading that says it (empty: neither)
    """

    id: str
    job_id: str
    part_id: str
    kind: EvidenceKind = "other"
    words: str = ""
    speaks: Speaks = "for"
    photo_id: str | None = None
    reading_id: str = ""
    version: int = 0


EVIDENCE_KINDS: tuple[EvidenceKind, ...] = (
    "date code", "maker's stamp", "serial inside", "solder undisturbed", "wear that matches", "factory finish",
    "holes that bear witness", "paperwork", "seller's claim", "other",
)  # fmt: skip
CLAIM: EvidenceKind = "seller's claim"

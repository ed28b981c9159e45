"""What a mark or several marks mean; it carries the number that map, list and report share."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from condition.errors import InvalidRecord
from condition.records.legend import KINDS
from condition.records.measurement import Measurement

State = Literal["sure", "doubtful"]
Decision = Literal["", "leave", "stabilise", "repair", "replace", "send out", "left undisturbed"]


@dataclass(frozen=True, slots=True)
class Finding:
    """One numbered finding of a job.

    number : never used twice in a job
    kind : a key of ``condition.records.legend.KINDS``; ``own_kind`` keeps a word from outside that is none of them
    place : where, in words of the bench (bass side, lower bout, beside the sound hole)
    observation : what is seen; interpretation : what it is taken to mean (kept apart, AIC Commentary 25)
    typed : measurements by calliper, rule or gauge; ``typed_overrules`` puts them before the photo's
    """

    id: str
    job_id: str
    number: int
    kind: str
    own_kind: str = ""
    view_id: str | None = None
    place: str = ""
    observation: str = ""
    interpretation: str = ""
    state: State = "sure"
    decision: Decision = ""
    decision_reason: str = ""
    typed: tuple[Measurement, ...] = ()
    typed_overrules: bool = False
    version: int = 0

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise InvalidRecord("finding", f"kind {self.kind!r}")
        if self.number < 1:
            raise InvalidRecord("finding", f"number {self.number}")

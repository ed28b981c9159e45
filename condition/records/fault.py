"""Something that does not work as it should: what is heard, what was tried, what is likely, and the same again on
return."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

FaultKind = Literal[
    "squeal", "hum", "crackle", "cuts out", "no sound", "dead string", "buzz at a fret", "tuner slips", "other"
]
Effect = Literal["not tried", "no change", "changes it", "starts it", "stops it"]
Retest = Literal["not retested", "gone", "as before", "better", "worse"]


@dataclass(frozen=True, slots=True)
class FaultTry:
    """One thing tried. ``what`` is a code of :data:`condition.flow.faults.TRIES` or own words; ``again`` is what the
    same did on return."""

    what: str
    effect: Effect = "not tried"
    words: str = ""
    again: Effect = "not tried"
    again_words: str = ""


@dataclass(frozen=True, slots=True)
class Fault:
    """finding_id : the numbered finding it stands for on the map, when there is one
    heard_when : in words: which string, which switch position, how loud, after how long
    likely_cause : what it is taken to be, kept apart from what was tried
    retest_words : how the retest was done and what was heard
    """

    id: str
    job_id: str
    kind: FaultKind = "other"
    own_kind: str = ""
    finding_id: str | None = None
    where: str = ""
    heard_when: str = ""
    tries: tuple[FaultTry, ...] = ()
    likely_cause: str = ""
    retest: Retest = "not retested"
    retest_words: str = ""
    noted_at: str = ""
    retested_at: str = ""
    version: int = 0

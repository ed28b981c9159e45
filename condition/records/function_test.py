"""What works, tried one thing at a time before the strings come off and again on return."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from condition.records.reading import Occasion

Group = Literal["switch", "control", "jack", "tuner", "truss rod", "other"]
Result = Literal["not tried", "works", "noisy", "dead", "stiff", "slips"]


@dataclass(frozen=True, slots=True)
class FunctionTest:
    """One thing tried: a switch position, a control, a tuner. ``item`` is its name in words; ``rank`` its place in the
    list."""

    id: str
    job_id: str
    occasion: Occasion = "intake"
    group: Group = "control"
    item: str = ""
    result: Result = "not tried"
    note: str = ""
    rank: int = 0
    tried_at: str = ""
    version: int = 0

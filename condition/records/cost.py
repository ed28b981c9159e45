"""What the shop's own instrument has cost so far."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

CostNature = Literal["paid for it", "work", "materials", "outside", "other"]
COST_NATURES: tuple[CostNature, ...] = ("paid for it", "work", "materials", "outside", "other")


@dataclass(frozen=True, slots=True)
class Cost:
    """One amount spent on a job; ``line_id`` when it is a line of an estimate that has been done; ``day`` is local."""

    id: str
    job_id: str
    nature: CostNature = "other"
    words: str = ""
    amount_minor: int = 0
    currency: str = "EUR"
    day: str = ""
    line_id: str = ""
    version: int = 0

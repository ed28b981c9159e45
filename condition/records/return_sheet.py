"""A return check as the report shows it; photos and findings are those of the sheet it belongs to, by their ids."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from condition.records.return_check import ReturnChange, ReturnCheck, ReturnPair, ReturnVerdict

Cause = Literal["light", "raised", "border", "dark"]


@dataclass(frozen=True, slots=True)
class DoubtGroup:
    """Places of one pair that differ for one likely cause and that nobody has to look at one by one.

    change_ids : open ones, the surest first
    percent : of what was compared on the pair; area_mm2 : of all together, None without a scale
    """

    pair_id: str
    cause: Cause
    change_ids: tuple[str, ...]
    percent: float
    area_mm2: float | None = None


@dataclass(frozen=True, slots=True)
class ReturnEntry:
    """One check with what came of it.

    pairs : that were asked to be compared, refused ones among them
    changes : the surest first; verdicts : in the order of the findings' numbers
    not_again, alone : ids of earlier and of later photos that are in no pair
    doubt : doubtful places that are told together
    """

    check: ReturnCheck
    pairs: tuple[ReturnPair, ...] = ()
    changes: tuple[ReturnChange, ...] = ()
    verdicts: tuple[ReturnVerdict, ...] = ()
    not_again: tuple[str, ...] = ()
    alone: tuple[str, ...] = ()
    doubt: tuple[DoubtGroup, ...] = ()

"""A return check as the report shows it; photos and findings are those of the sheet it belongs to, by their ids."""

from __future__ import annotations

from dataclasses import dataclass

from condition.records.return_check import ReturnChange, ReturnCheck, ReturnPair, ReturnVerdict


@dataclass(frozen=True, slots=True)
class ReturnEntry:
    """One check with what came of it.

    pairs : that were asked to be compared, refused ones among them
    changes : the surest first; verdicts : in the order of the findings' numbers
    not_again, alone : ids of earlier and of later photos that are in no pair
    """

    check: ReturnCheck
    pairs: tuple[ReturnPair, ...] = ()
    changes: tuple[ReturnChange, ...] = ()
    verdicts: tuple[ReturnVerdict, ...] = ()
    not_again: tuple[str, ...] = ()
    alone: tuple[str, ...] = ()

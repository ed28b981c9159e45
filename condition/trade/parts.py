"""Lists of parts that fit a kind of instrument; a starting point, common practice, that the user changes."""

from __future__ import annotations

from dataclasses import dataclass

from condition.trade.tables import rows, source

ANY = "any"
GROUPS = ("body", "neck", "tuning", "bridge", "fittings", "electrics", "with it")


@dataclass(frozen=True, slots=True)
class ListedPart:
    """One entry of a parts list: its code (the word stands in the catalogue) and its group."""

    code: str
    group: str


def list_for(family: str) -> str:
    """Return the name of the parts list that fits an instrument's family; an unknown one gets the general list."""
    return next((row["list"] for row in rows("part_lists") if row["family"] == family), ANY)


def parts_for(family: str) -> tuple[ListedPart, ...]:
    """Return the parts to look at on such an instrument, by group, in the order they are looked at.

    Source: ``data/parts.csv`` and ``data/part_lists.csv``, common practice.
    """
    name = list_for(family)
    return tuple(ListedPart(row["code"], row["group"]) for row in rows("parts") if name in row["lists"].split(";"))


def parts_source() -> str:
    return source("parts")

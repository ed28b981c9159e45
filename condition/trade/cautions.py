"""What to be careful with, and where it matters; local rules and licensed practice decide."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from typing import Literal

from condition.trade.tables import rows

Where = Literal["findings", "parts", "materials", "steps", "treatments"]
EXACT: tuple[Where, ...] = ("findings", "parts")
"""These are codes and must be the same; the others are words looked for in what was written."""


@dataclass(frozen=True, slots=True)
class Caution:
    """``code`` names its sentence (``caution.CODE``) and its title (``caution.title CODE``) in the catalogue."""

    code: str
    source: str


def all_cautions() -> tuple[Caution, ...]:
    return tuple(Caution(row["code"], row["source"]) for row in rows("cautions"))


def cautions_for(**told: str | Iterable[str]) -> tuple[Caution, ...]:
    """Return the cautions that concern what is told, in the table's order.

    Parameters
    ----------
    told : by column of ``data/cautions.csv``: ``findings`` and ``parts`` are codes, ``materials``, ``steps`` and
        ``treatments`` any words, in which an entry is looked for in its usual endings (``sand``, ``sanding``)

    Source: beside each row; 'common practice' where there is none.
    """
    unknown = set(told) - {"findings", "parts", "materials", "steps", "treatments"}
    if unknown:
        raise TypeError(f"cautions are not looked up by {', '.join(sorted(unknown))}")
    found = []
    for row in rows("cautions"):
        for where, words in told.items():
            given = (words,) if isinstance(words, str) else tuple(words)
            if any(_concerns(row[where], text, exact=where in EXACT) for text in given):
                found.append(Caution(row["code"], row["source"]))
                break
    return tuple(found)


def _concerns(entries: str, text: str, *, exact: bool) -> bool:
    if not entries or not text.strip():
        return False
    if exact:
        return text.strip().lower() in entries.split(";")
    return bool(_pattern(entries).search(text))


@cache
def _pattern(entries: str) -> re.Pattern[str]:
    """Each entry as a whole word in its usual endings (``sand``: sanding, sanded; ``shell`` is not in shellac)."""
    return re.compile(rf"\b(?:{'|'.join(map(_endings, entries.split(';')))})\b", re.IGNORECASE)


def _endings(entry: str) -> str:
    if entry.endswith("e"):
        return rf"{re.escape(entry[:-1])}(?:es?|ed|ing|ers?)"
    return rf"{re.escape(entry)}(?:e?s|\w?(?:ed|ing|ers?))?"

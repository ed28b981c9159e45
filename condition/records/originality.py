"""How a part's originality is shown: a symbol, a colour and a group for counting, the same on page and paper."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from condition.records.legend import MUTED
from condition.records.part import LATER, ORIGINALITIES, Originality, Part


@dataclass(frozen=True, slots=True)
class StateSign:
    """symbol : one character that tells the state without colour; colour : of the field behind it, white on it reads"""

    symbol: str
    colour: str


SIGNS: dict[Originality, StateSign] = {
    "original": StateSign("■", "#3F5B1B"),
    "period-correct": StateSign("◆", "#1F5F8B"),
    "modified": StateSign("▲", "#7F5600"),
    "reissue": StateSign("▽", "#7A3E73"),
    "modern": StateSign("▽", "#7A3E73"),
    "home-made": StateSign("▽", "#7A3E73"),
    "missing": StateSign("×", "#8E2C2C"),
    "cannot tell": StateSign("?", "#40525A"),
    "": StateSign("–", MUTED),
}
"""Empty: not judged. The three ways of being later share a sign and are told apart by their word."""

COUNTED: tuple[tuple[Originality, ...], ...] = (
    *((state,) for state in ORIGINALITIES if state not in LATER and state not in ("missing", "cannot tell")),
    LATER,
    ("missing",),
    ("cannot tell",),
    ("",),
)
"""The groups of the summary, in its order: the later ones counted together, the parts not judged last."""


def tally(parts: Iterable[Part]) -> tuple[tuple[tuple[Originality, ...], int], ...]:
    """Count the parts of each group of :data:`COUNTED`; groups without a part are left out."""
    states = [part.originality for part in parts]
    counts = ((group, sum(state in group for state in states)) for group in COUNTED)
    return tuple((group, count) for group, count in counts if count)

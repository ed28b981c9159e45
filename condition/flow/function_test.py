"""The function test: what there is to try on this kind of instrument, one tap each."""

from __future__ import annotations

from dataclasses import replace

from condition.errors import Refused
from condition.flow.desk import Desk, new_id, utc_now
from condition.flow.strings import strings_at
from condition.records.function_test import FunctionTest, Group, Result
from condition.records.instrument import Instrument
from condition.records.job import Job
from condition.records.reading import Occasion
from condition.words import say

ELECTRIC = ("solid electric guitar", "hollow electric guitar", "electric bass")
NO_TRUSS_ROD = ("classical guitar", "lute family", "ukulele")
RESULTS: tuple[Result, ...] = ("not tried", "works", "noisy", "dead", "stiff", "slips")
RESULTS_FOR: dict[Group, tuple[Result, ...]] = {
    "switch": ("not tried", "works", "noisy", "dead"),
    "control": ("not tried", "works", "noisy", "dead"),
    "jack": ("not tried", "works", "noisy", "dead"),
    "tuner": ("not tried", "works", "stiff", "slips", "dead"),
    "truss rod": ("not tried", "works", "stiff", "dead"),
    "other": RESULTS,
}
_LAID_OUT: tuple[tuple[Group, str], ...] = (
    ("switch", "function_test.switch_neck"),
    ("switch", "function_test.switch_middle"),
    ("switch", "function_test.switch_bridge"),
    ("control", "function_test.volume"),
    ("control", "function_test.tone"),
    ("jack", "function_test.jack"),
)


def listed(desk: Desk, job: Job, occasion: Occasion | None = None) -> tuple[FunctionTest, ...]:
    """Return what is in the list, in its order."""
    return desk.store.find(FunctionTest, job_id=job.id, **({} if occasion is None else {"occasion": occasion}))


def lay_out(desk: Desk, job: Job, occasion: Occasion = "intake", *, electric: bool | None = None) -> int:
    """Fill an empty list: as it was at intake, or what this kind of instrument usually has; return how many.

    electric : with switch, controls and jack; None goes by the kind of instrument
    """
    if listed(desk, job, occasion):
        return 0
    items = [(test.group, test.item) for test in listed(desk, job, "intake")]
    items = items or _usual(desk, job, electric)
    with desk.store.write(new_id(), desk.person) as work:
        for rank, (group, item) in enumerate(items, 1):
            work.put(FunctionTest(new_id(), job.id, occasion, group, item, rank=rank))
    return len(items)


def _usual(desk: Desk, job: Job, electric: bool | None) -> list[tuple[Group, str]]:
    family = desk.store.get(Instrument, job.instrument_id).family
    found: list[tuple[Group, str]] = []
    if family in ELECTRIC if electric is None else electric:
        found += [(group, say(code)) for group, code in _LAID_OUT]
    strings = strings_at(desk, job, "intake").strings
    number = 0
    for string in strings:
        for _ in range(string.in_course):
            number += 1
            found.append(("tuner", say("function_test.tuner", number=number, note=string.note)))
    if family not in NO_TRUSS_ROD:
        found.append(("truss rod", say("function_test.truss_rod")))
    return found


def add_test(desk: Desk, job: Job, group: Group, item: str, occasion: Occasion = "intake") -> FunctionTest:
    """Add one thing to try.

    Raises
    ------
    Refused
        ``function_test.no_item``
    """
    if not item.strip():
        raise Refused("function_test.no_item")
    with desk.store.write(new_id(), desk.person) as work:
        rank = max((t.rank for t in work.find(FunctionTest, job_id=job.id, occasion=occasion)), default=0) + 1
        return work.put(FunctionTest(new_id(), job.id, occasion, group, item.strip(), rank=rank))


def tried(desk: Desk, test: FunctionTest, result: Result, note: str | None = None) -> FunctionTest:
    """Keep what a thing did when it was tried."""
    edited = replace(test, result=result, note=test.note if note is None else note.strip())
    if edited == test:
        return test
    with desk.store.write(new_id(), desk.person) as work:
        return work.put(replace(edited, tried_at=utc_now() if result != "not tried" else ""))


def remove_test(desk: Desk, test: FunctionTest) -> None:
    with desk.store.write(new_id(), desk.person) as work:
        work.remove(work.get(FunctionTest, test.id))

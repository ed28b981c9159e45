"""What is wanted known before the strings come off, in order, and how far it is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from condition.flow.desk import Desk
from condition.flow.function_test import listed
from condition.flow.readings import readings_of
from condition.records.job import Job
from condition.records.reading import Occasion, StringSet

Step = Literal["air", "strings", "function", "coil", "setup", "board"]
STEPS: tuple[Step, ...] = ("air", "strings", "function", "coil", "setup", "board")
GOES_WITH_THE_STRINGS: tuple[Step, ...] = ("strings", "function", "coil", "setup")
"""These can only be read while the strings are on and at pitch (common practice); the rest can wait."""


@dataclass(frozen=True, slots=True)
class StepState:
    """done : nothing of it is wanting; begun : something of it is there"""

    step: Step
    done: bool
    begun: bool
    goes_with_strings: bool


def before_strings(desk: Desk, job: Job, occasion: Occasion = "intake") -> tuple[StepState, ...]:
    """Return the steps in their order.

    A coil is wanted only where the function test has a jack or a switch; what was not tried counts as answered when
    its note says why.
    """
    taken = {one.what for one in readings_of(desk, job, occasion)}
    tests = listed(desk, job, occasion)
    strings = desk.store.find(StringSet, job_id=job.id, occasion=occasion)
    electric = any(test.group in ("switch", "control", "jack") for test in tests)
    tried = [test for test in tests if test.result != "not tried" or test.note]
    gauged = bool(strings) and all(string.gauge_typed for string in strings[0].strings)
    done: dict[Step, tuple[bool, bool]] = {
        "air": ({"humidity", "temperature"} <= taken, bool(taken & {"humidity", "temperature"})),
        "strings": (gauged, bool(strings)),
        "function": (bool(tests) and len(tried) == len(tests), bool(tried)),
        "coil": ("coil" in taken or (bool(tests) and not electric), "coil" in taken),
        "setup": ({"action", "relief", "nut slot"} <= taken, bool(taken & {"action", "relief", "nut slot"})),
        "board": ({"fret height", "string length", "weight"} <= taken,
                  bool(taken & {"fret height", "fret place", "string length", "weight"})),
    }  # fmt: skip
    return tuple(StepState(step, *done[step], step in GOES_WITH_THE_STRINGS) for step in STEPS)

"""What to do about one finding, fault, reading or request: a line of the repair plan."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Action = Literal["leave", "stabilise", "repair", "replace", "send out"]
ACTIONS: tuple[Action, ...] = ("leave", "stabilise", "repair", "replace", "send out")

Subject = Literal["finding", "fault", "reading", "request", "own"]
SUBJECTS: tuple[Subject, ...] = ("finding", "fault", "reading", "request", "own")

Reversible = Literal["", "yes", "in part", "no"]
REVERSIBLE: tuple[Reversible, ...] = ("", "yes", "in part", "no")


@dataclass(frozen=True, slots=True)
class Treatment:
    """One thing to do, or to leave.

    about, about_id : what it answers; the id of a finding, fault or reading; a request has its words in ``request``
    what : the work in short; how : materials and method; why : the reason
    lost : what of the original is lost by it
    option_group : treatments of one group exclude each other; ``chosen`` is the one proposed, or taken
    part_ids : parts of the list it touches
    turn : place in the order of work
    in_spite : why it is planned although its part is left undisturbed
    done_on : local day, ``YYYY-MM-DD``, empty while open; done_words : what was done in the end
    """

    id: str
    job_id: str
    about: Subject = "own"
    about_id: str = ""
    request: str = ""
    action: Action = "repair"
    what: str = ""
    how: str = ""
    why: str = ""
    reversible: Reversible = ""
    lost: str = ""
    option_group: str = ""
    chosen: bool = True
    part_ids: tuple[str, ...] = ()
    turn: int = 0
    in_spite: str = ""
    done_on: str = ""
    done_words: str = ""
    version: int = 0


@dataclass(frozen=True, slots=True)
class PlanEntry:
    """A treatment as the report tells it: ``subject`` says what it answers, such as ``finding 4, screw hole``."""

    treatment: Treatment
    subject: str = ""

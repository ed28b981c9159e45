"""The rest of a return, for the page: what was asked and done, what is not back or left over, doubt in words."""

from __future__ import annotations

from condition.flow.bags import bags_of
from condition.flow.desk import Desk
from condition.flow.parts import parts_of
from condition.flow.plan import plan_entries
from condition.flow.strip_down import account_of, steps_of
from condition.records.job import Job
from condition.records.return_sheet import DoubtGroup

Lines = list[tuple[str, str]]


def asked_and_not_back(desk: Desk, job: Job) -> tuple[Lines, Lines]:
    """Return (label, words) of what was asked and done, and of the parts that are not on the instrument."""
    from condition.report.before_after_rest import asked_and_done, not_back

    return asked_and_done(job, plan_entries(desk, job)), not_back(parts_of(desk, job), bags_of(desk, job))


def counted_back(desk: Desk, job: Job) -> list[str]:
    """Return ``bags left: 0, screws left: 0`` and a line for each thing left over; nothing when nothing came off."""
    from condition.report.left_over import over_in_words

    return over_in_words(account_of(desk, job)) if steps_of(desk, job) else []


def places_told(group: DoubtGroup) -> str:
    """Return how many places a group holds and how much they are, as the papers tell it."""
    from condition.report.before_after_words import places_text

    return places_text(group)

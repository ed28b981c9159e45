"""The bench board: every job by where the instrument is and what waits on whom; found again by any word in it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from condition.flow.days import local_day
from condition.flow.desk import Desk, utc_now
from condition.flow.estimates import answers_of, estimates_of
from condition.flow.handovers import Whereabouts, where_is
from condition.flow.jobs import JobCard, job_card
from condition.records.buying import BeforeBuying
from condition.records.estimate import Estimate
from condition.records.job import Job
from condition.records.person import Person

Group = Literal["late", "here", "out", "looked at", "returned"]
GROUPS: tuple[Group, ...] = ("late", "here", "out", "looked at", "returned")
Waits = Literal["bench", "client", "specialist", "seller", "nobody"]


@dataclass(frozen=True, slots=True)
class BoardEntry:
    """One job on the board.

    waits, waits_on : whose turn it is, and who that is when it has a name
    words : where the words of a search stand in it, a few of them
    """

    job: Job
    where: Whereabouts
    group: Group
    waits: Waits
    waits_on: Person | None
    words: tuple[str, ...] = ()


MOST_WORDS_TOLD = 3


def board(desk: Desk, words: str = "") -> tuple[BoardEntry, ...]:
    """Return all jobs, the newest first; with words, those in which every word stands."""
    hits = desk.store.search(words) if words.strip() else None
    jobs = sorted(desk.store.find(Job), key=lambda job: job.opened_at, reverse=True)
    looks = {look.job_id: look for look in desk.store.find(BeforeBuying)}
    return tuple(
        _entry(desk, job, looks.get(job.id), _told(hits[job.id]) if hits else ())
        for job in jobs
        if hits is None or job.id in hits
    )


def _told(hits) -> tuple[str, ...]:
    return tuple(dict.fromkeys(hit.text for hit in hits))[:MOST_WORDS_TOLD]


def _entry(desk: Desk, job: Job, look: BeforeBuying | None, words: tuple[str, ...]) -> BoardEntry:
    where = where_is(desk, job)
    waits, person = _turn(desk, job, where, look)
    if look is not None and look.decision != "buy" and where.handover is None:
        group: Group = "looked at"
    elif where.overdue(local_day(utc_now())):
        group = "late"
    else:
        group = {"out": "out", "returned": "returned"}.get(where.place, "here")
    return BoardEntry(job, where, group, waits, person, words)


def _turn(desk: Desk, job: Job, where: Whereabouts, look: BeforeBuying | None) -> tuple[Waits, Person | None]:
    """Whose turn it is: who has it, else who has to answer, else the bench."""
    if where.place == "returned":
        return "nobody", None
    if where.place == "out":
        return "specialist", where.person
    if look is not None and look.decision != "buy":
        return ("nobody", None) if look.decision == "leave it" else ("seller", None)
    sent = [one for one in estimates_of(desk, job) if one.sent_at]
    if sent and _unanswered(sent[-1]):
        return "client", desk.store.get(Person, job.client_id) if job.client_id else None
    if where.parts_out:
        return "specialist", where.parts_out[0].person
    return "bench", None


def _unanswered(estimate: Estimate) -> bool:
    said = answers_of(estimate)
    return estimate.sent is not None and any(line.counted and line.id not in said for line in estimate.sent.lines)


def card_of(desk: Desk, entry: BoardEntry) -> JobCard:
    """Return what stands on an entry's card."""
    return job_card(desk, entry.job)

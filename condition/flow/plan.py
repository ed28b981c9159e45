"""The repair plan: what to do about each finding, fault, reading and request, in the order of work."""

from __future__ import annotations

from dataclasses import dataclass, replace

from condition.errors import Refused
from condition.flow.desk import Desk, new_id
from condition.flow.parts import Undisturbed, would_disturb
from condition.flow.undo import put_back
from condition.records.fault import Fault
from condition.records.finding import Finding
from condition.records.job import Job
from condition.records.reading import Reading
from condition.records.treatment import Action, PlanEntry, Subject, Treatment
from condition.words import say

DECIDED: dict[str, Action] = {
    "leave": "leave",
    "stabilise": "stabilise",
    "repair": "repair",
    "replace": "replace",
    "send out": "send out",
}
"""What a finding's decision makes of its first treatment; 'left undisturbed' plans nothing."""


@dataclass(frozen=True, slots=True)
class Planned:
    """A treatment with what it answers, and what it would touch that is left undisturbed."""

    treatment: Treatment
    finding: Finding | None
    subject: Fault | Reading | None
    undisturbed: tuple[Undisturbed, ...]


@dataclass(frozen=True, slots=True)
class Open:
    """Something that asks for a treatment and has none yet; ``record`` is None for a request, told in ``words``."""

    about: Subject
    about_id: str
    record: Finding | Fault | Reading | None
    words: str


def plan(desk: Desk, job: Job) -> tuple[Planned, ...]:
    """Return the job's treatments in the order of work."""
    return tuple(_planned(desk, one) for one in desk.store.find(Treatment, job_id=job.id))


def _planned(desk: Desk, treatment: Treatment) -> Planned:
    record = subject_of(desk, treatment.about, treatment.about_id)
    finding = record if isinstance(record, Finding) else None
    if isinstance(record, Fault) and record.finding_id:
        finding = desk.store.one(Finding, id=record.finding_id)
    other = None if isinstance(record, Finding) else record
    return Planned(treatment, finding, other, undisturbed_by(desk, treatment))


def plan_entries(desk: Desk, job: Job) -> tuple[PlanEntry, ...]:
    """Return the plan as the report tells it: each treatment with the words of what it answers."""
    return tuple(PlanEntry(one.treatment, subject_words(one)) for one in plan(desk, job))


def subject_words(one: Planned) -> str:
    """Return what a treatment answers, such as ``finding 4, screw hole``; empty for one of its own."""
    if one.finding is not None:
        kind = one.finding.own_kind or say(f"kind.{one.finding.kind}")
        return say("plan.subject_finding", number=one.finding.number, kind=kind)
    if isinstance(one.subject, Fault):
        return say("plan.subject_fault", what=one.subject.own_kind or one.subject.kind)
    if isinstance(one.subject, Reading):
        return say("plan.subject_reading", what=" ".join(filter(None, (one.subject.what, one.subject.place))))
    return say("plan.subject_request", what=one.treatment.request) if one.treatment.request else ""


def subject_of(desk: Desk, about: Subject, about_id: str) -> Finding | Fault | Reading | None:
    kinds = {"finding": Finding, "fault": Fault, "reading": Reading}
    return desk.store.one(kinds[about], id=about_id) if about in kinds and about_id else None


def still_open(desk: Desk, job: Job) -> tuple[Open, ...]:
    """Return what has no treatment yet: findings by number, then faults, then the client's requests.

    A reading asks for one only when the bench says so, so readings are not listed.
    """
    planned = desk.store.find(Treatment, job_id=job.id)
    ids = {one.about_id for one in planned if one.about_id}
    asked = {one.request for one in planned if one.request}
    findings = [Open("finding", one.id, one, "") for one in desk.store.find(Finding, job_id=job.id)]
    faults = [
        Open("fault", one.id, one, "")
        for one in desk.store.find(Fault, job_id=job.id)
        if not one.finding_id or one.finding_id not in ids
    ]
    requests = [Open("request", "", None, item) for item in job.request_items if item not in asked]
    return tuple(one for one in (*findings, *faults, *requests) if not one.about_id or one.about_id not in ids)


def undisturbed_by(desk: Desk, treatment: Treatment) -> tuple[Undisturbed, ...]:
    """Return what a treatment would touch that is left undisturbed; nothing when it leaves things as they are.

    A finding so decided, every part the treatment names, and every such part whose name stands in its words.
    """
    if treatment.action == "leave":
        return ()
    job = desk.store.get(Job, treatment.job_id)
    finding_id = treatment.about_id if treatment.about == "finding" else None
    words = " ".join((treatment.what, treatment.how))
    found = would_disturb(desk, job, words, finding_id=finding_id)
    named = [one for part_id in treatment.part_ids for one in would_disturb(desk, job, part_id=part_id)]
    return tuple({one.record_id: one for one in (*found, *named)}.values())


def would_touch(desk: Desk, job: Job, waiting: Open, action: Action) -> tuple[Undisturbed, ...]:
    """Return what planning something would touch that is left undisturbed: shown before it is planned."""
    return undisturbed_by(desk, Treatment("", job.id, waiting.about, waiting.about_id, waiting.words, action))


def plan_as_decided(desk: Desk, job: Job) -> int:
    """Plan every finding that was decided and has no treatment yet, as it was decided; return how many that were.

    A finding left undisturbed is decided: it is left, and nothing is planned for it.
    """
    count = 0
    for waiting in still_open(desk, job):
        finding = waiting.record
        action = DECIDED.get(finding.decision) if isinstance(finding, Finding) else None
        if action and not would_touch(desk, job, waiting, action):
            propose(desk, job, "finding", finding.id)
            count += 1
    return count


def propose(desk: Desk, job: Job, about: Subject = "own", about_id: str = "", **fields: object) -> Treatment:
    """Plan a treatment, last in the order of work; a finding's decision and reason are taken over unless given.

    Raises
    ------
    Refused
        ``plan.left_undisturbed``: it would touch something left undisturbed and no ``in_spite`` says why.
    """
    if about == "finding" and about_id:
        finding = desk.store.get(Finding, about_id)
        fields.setdefault("action", DECIDED.get(finding.decision, "leave"))
        fields.setdefault("why", finding.decision_reason)
    others = desk.store.find(Treatment, job_id=job.id)
    fields.setdefault("turn", max((one.turn for one in others), default=0) + 1)
    return keep_treatment(desk, Treatment(new_id(), job.id, about, about_id, **fields))


def keep_treatment(desk: Desk, treatment: Treatment) -> Treatment:
    """Keep a treatment as edited; choosing it lets go of the others of its option group.

    Raises
    ------
    Refused
        ``plan.left_undisturbed``, as in :func:`propose`.
    """
    before = desk.store.one(Treatment, id=treatment.id)
    if before == treatment:
        return treatment
    touched = undisturbed_by(desk, treatment)
    if touched and not treatment.in_spite.strip():
        what = touched[0]
        code = "plan.left_undisturbed_why" if what.reason else "plan.left_undisturbed"
        raise Refused(code, what=what.name, reason=what.reason)
    with desk.store.write(new_id(), desk.person) as work:
        if treatment.option_group and treatment.chosen:
            for other in work.find(Treatment, job_id=treatment.job_id, option_group=treatment.option_group):
                if other.id != treatment.id and other.chosen:
                    work.put(replace(other, chosen=False))
        return work.put(treatment)


def choose(desk: Desk, treatment: Treatment) -> Treatment:
    """Take this one of its option group."""
    return keep_treatment(desk, replace(desk.store.get(Treatment, treatment.id), chosen=True))


def option_groups(desk: Desk, job: Job) -> tuple[str, ...]:
    groups = (one.option_group for one in desk.store.find(Treatment, job_id=job.id) if one.option_group)
    return tuple(dict.fromkeys(groups))


def remove_treatment(desk: Desk, treatment: Treatment) -> None:
    with desk.store.write(new_id(), desk.person) as work:
        work.remove(work.get(Treatment, treatment.id))


def put_back_treatment(desk: Desk, treatment_id: str) -> Treatment:
    return put_back(desk, Treatment, treatment_id)


def move(desk: Desk, treatment: Treatment, by: int) -> None:
    """Move a treatment up (-1) or down (1) in the order of work."""
    with desk.store.write(new_id(), desk.person) as work:
        order = list(work.find(Treatment, job_id=treatment.job_id))
        at = next(k for k, one in enumerate(order) if one.id == treatment.id)
        to = min(max(at + by, 0), len(order) - 1)
        order.insert(to, order.pop(at))
        for turn, one in enumerate(order, 1):
            if one.turn != turn:
                work.put(replace(one, turn=turn))


def mark_done(desk: Desk, treatment: Treatment, day: str, words: str = "") -> Treatment:
    """Write down that a treatment was done, on which local day, and what was done in the end; an empty day opens it."""
    return keep_treatment(desk, replace(treatment, done_on=day, done_words=words))

"""The parts list: what belongs to the instrument, where each part is, original or not and on what evidence."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from condition.errors import Refused
from condition.flow.desk import Desk, new_id, utc_now
from condition.flow.undo import put_back
from condition.records.finding import Finding
from condition.records.instrument import Instrument
from condition.records.job import Job
from condition.records.part import Evidence, Part, Place
from condition.records.strip_down import Bag, StripDownStep
from condition.trade.parts import GROUPS, parts_for
from condition.words import say

LEFT_UNDISTURBED = "left undisturbed"
__all__ = [
    "GROUPS", "Undisturbed", "add_evidence", "add_part", "bring_back", "bring_evidence_back", "disturb",
    "edit_evidence", "edit_part", "evidence_of", "lay_out", "leave_undisturbed", "left_undisturbed", "move",
    "part_named", "parts_of", "remove_evidence", "remove_part", "where", "would_disturb",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Undisturbed:
    """Something that is left as it is by decision: a part or a finding, why, and who decided it when."""

    record_id: str
    name: str
    reason: str
    by: str = ""
    at: str = ""
    number: int | None = None
    """The finding's number; None for a part."""


def parts_of(desk: Desk, job: Job) -> tuple[Part, ...]:
    """Return the job's parts by group, each group in its list's order."""
    place = {group: order for order, group in enumerate(GROUPS)}
    parts = desk.store.find(Part, job_id=job.id)
    return tuple(sorted(parts, key=lambda part: (place.get(part.group, len(place)), part.list_order)))


def evidence_of(desk: Desk, part: Part) -> tuple[Evidence, ...]:
    return desk.store.find(Evidence, part_id=part.id)


def lay_out(desk: Desk, job: Job) -> tuple[Part, ...]:
    """Add the parts usual on such an instrument that the list does not have yet, and return the list."""
    family = desk.store.get(Instrument, job.instrument_id).family
    with desk.store.write(new_id(), desk.person) as work:
        there = work.find(Part, job_id=job.id)
        codes = {part.code for part in there}
        for order, listed in enumerate(parts_for(family)):
            if listed.code not in codes:
                work.put(
                    Part(new_id(), job.id, say(f"part.{listed.code}"), listed.group, listed.code, list_order=order)
                )
    return parts_of(desk, job)


def add_part(desk: Desk, job: Job, name: str, group: str = "fittings", **fields: object) -> Part:
    """Add a part of its own to the list.

    Raises
    ------
    Refused
        ``parts.no_name``; ``parts.name_taken``: the list has a part of that name.
    """
    name = " ".join(name.split())
    if not name:
        raise Refused("parts.no_name")
    with desk.store.write(new_id(), desk.person) as work:
        there = work.find(Part, job_id=job.id)
        if any(part.name.casefold() == name.casefold() for part in there):
            raise Refused("parts.name_taken", name=name)
        order = 1 + max((part.list_order for part in there), default=0)
        return work.put(Part(new_id(), job.id, name, group, list_order=order, **fields))


def part_named(desk: Desk, job: Job, name: str) -> Part:
    """Return the part of that name, in any case of letters.

    Raises
    ------
    Refused
        ``parts.unknown``
    """
    wanted = " ".join(name.split()).casefold()
    for part in desk.store.find(Part, job_id=job.id):
        if part.name.casefold() == wanted:
            return part
    raise Refused("parts.unknown", name=name)


def edit_part(desk: Desk, part: Part, **fields: object) -> Part:
    """Keep a part as edited; who judged its originality is noted when that changes.

    Raises
    ------
    Refused
        ``parts.no_name``
    Stale
        It was changed elsewhere meanwhile.
    """
    edited = replace(part, **fields) if fields.get("name", part.name).strip() else None
    if edited is None:
        raise Refused("parts.no_name")
    with desk.store.write(new_id(), desk.person) as work:
        before = work.get(Part, part.id)
        if before == edited:
            return edited
        if edited.originality != before.originality and not edited.judged_by:
            edited = replace(edited, judged_by=_worker(desk, work.get(Job, part.job_id)))
        return work.put(edited)


def remove_part(desk: Desk, part: Part) -> None:
    """Take a part off the list with its evidence; :func:`bring_back` undoes it.

    Raises
    ------
    Refused
        ``parts.in_log``: a step of the strip-down log took it off.
    """
    with desk.store.write(new_id(), desk.person) as work:
        for step in work.find(StripDownStep, job_id=part.job_id):
            if part.id in step.part_ids:
                raise Refused("parts.in_log", name=part.name, step=step.step_order)
        evidence = work.find(Evidence, part_id=part.id)
        for one in (*evidence, work.get(Part, part.id)):
            work.remove(one)
        work.answer([one.id for one in evidence])


def bring_back(desk: Desk, part_id: str) -> Part:
    """Put a removed part back on the list, with the evidence that was removed with it."""
    changes = desk.store.history(part_id)
    evidence = desk.store.answered(changes[-1].operation) if changes and changes[-1].after is None else ()
    with desk.store.write(new_id(), desk.person) as work:
        part = work.restore(Part, part_id)
        for evidence_id in evidence:
            work.restore(Evidence, evidence_id)
        return part


def add_evidence(desk: Desk, part: Part, **fields: object) -> Evidence:
    with desk.store.write(new_id(), desk.person) as work:
        return work.put(Evidence(new_id(), part.job_id, part.id, **fields))


def edit_evidence(desk: Desk, evidence: Evidence, **fields: object) -> Evidence:
    edited = replace(evidence, **fields)
    with desk.store.write(new_id(), desk.person) as work:
        return edited if work.get(Evidence, evidence.id) == edited else work.put(edited)


def remove_evidence(desk: Desk, evidence: Evidence) -> None:
    with desk.store.write(new_id(), desk.person) as work:
        work.remove(work.get(Evidence, evidence.id))


def bring_evidence_back(desk: Desk, evidence_id: str) -> Evidence:
    return put_back(desk, Evidence, evidence_id)


def move(desk: Desk, part: Part, place: Place, *, bag_id: str | None = None, out_to: str = "") -> Part:
    """Say where a part is now: fitted, in a bag, on the bench, in the case, out to somebody, not there.

    Raises
    ------
    Refused
        ``parts.which_bag``, ``parts.out_to_whom``: the place is not complete.
    """
    if place == "bag" and not bag_id:
        raise Refused("parts.which_bag", name=part.name)
    if place == "out" and not out_to.strip():
        raise Refused("parts.out_to_whom", name=part.name)
    return edit_part(
        desk,
        part,
        place=place,
        bag_id=bag_id if place == "bag" else None,
        out_to=out_to.strip() if place == "out" else "",
    )


def where(part: Part, bags: dict[str, Bag]) -> str:
    """Say where a part is, in words of the bench."""
    if part.place == "bag" and part.bag_id in bags:
        return say("parts.in_bag", number=bags[part.bag_id].number)
    if part.place == "out":
        return say("parts.out", who=part.out_to)
    return say(f"parts.place_{part.place}")


def leave_undisturbed(desk: Desk, part: Part, reason: str, at: str = "") -> Part:
    """Decide that a part stays as it is.

    Raises
    ------
    Refused
        ``parts.no_reason``: the decision needs its reason.
    """
    if not reason.strip():
        raise Refused("parts.no_reason", name=part.name)
    return edit_part(
        desk,
        part,
        undisturbed=True,
        undisturbed_reason=reason.strip(),
        undisturbed_by=_worker(desk, desk.store.get(Job, part.job_id)),
        undisturbed_at=at or utc_now(),
    )


def disturb(desk: Desk, part: Part) -> Part:
    """Take the decision back; the change log keeps it."""
    return edit_part(desk, part, undisturbed=False, undisturbed_reason="", undisturbed_by="", undisturbed_at="")


def left_undisturbed(desk: Desk, job: Job) -> tuple[Undisturbed, ...]:
    """Return all that is left as it is by decision: parts of the list and findings."""
    parts = (
        Undisturbed(part.id, part.name, part.undisturbed_reason, part.undisturbed_by, part.undisturbed_at)
        for part in parts_of(desk, job)
        if part.undisturbed
    )
    findings = (
        Undisturbed(
            finding.id,
            finding.place or finding.own_kind or say(f"kind.{finding.kind}"),
            finding.decision_reason,
            number=finding.number,
        )
        for finding in desk.store.find(Finding, job_id=job.id)
        if finding.decision == LEFT_UNDISTURBED
    )
    return (*parts, *findings)


def would_disturb(
    desk: Desk, job: Job, words: str = "", *, part_id: str | None = None, finding_id: str | None = None
) -> tuple[Undisturbed, ...]:
    """Return what a piece of work would touch though it is left undisturbed: show it beside the work as a warning.

    Parameters
    ----------
    words : what is to be done, as written; a part is meant when all words of its name stand in it
    part_id, finding_id : what the work is about, when that is known
    """
    known = {part_id, finding_id} - {None}
    said = set(_plain_words(words))
    return tuple(
        one
        for one in left_undisturbed(desk, job)
        if one.record_id in known or (one.number is None and set(_plain_words(one.name)) <= said)
    )


def _plain_words(text: str) -> list[str]:
    return [word.removesuffix("s") for word in re.findall(r"\w+", text.casefold())]


def _worker(desk: Desk, job: Job) -> str:
    return job.examiner or desk.person

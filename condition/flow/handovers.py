"""Changes of hands: in, out to a specialist, back, returned; and who has the instrument now."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from condition.errors import Refused
from condition.flow.attachments import attach, attachments_of
from condition.flow.days import require_day
from condition.flow.desk import Desk, new_id, utc_now
from condition.flow.parts import left_undisturbed, move
from condition.flow.price_book import shop_money
from condition.flow.undo import put_back
from condition.records.attachment import Attachment, Nature
from condition.records.handover import Handover, HandoverStep
from condition.records.job import Job
from condition.records.part import Part
from condition.records.person import Person
from condition.records.photo import Photo
from condition.records.treatment import Treatment
from condition.trade.money import currency
from condition.words import say

Place = Literal["here", "out", "returned", "not in yet"]


@dataclass(frozen=True, slots=True)
class PartOut:
    """A part that somebody else has."""

    words: str
    person: Person | None
    since: str
    due: str
    handover: Handover


@dataclass(frozen=True, slots=True)
class Whereabouts:
    """Where the instrument is. ``since`` is UTC, ``due`` a local day (empty when open); ``person`` has it when it is
    not here."""

    place: Place
    person: Person | None
    since: str
    due: str
    handover: Handover | None = None
    parts_out: tuple[PartOut, ...] = ()

    def overdue(self, day: str) -> bool:
        """Say whether it, or one of its parts, should have been back before a local day."""
        waits = [self.due if self.place == "out" else "", *(part.due for part in self.parts_out)]
        return any(due and due < day for due in waits)


def handovers_of(desk: Desk, job: Job) -> tuple[Handover, ...]:
    """Return the job's handovers in the order they happened; those only prepared come last."""
    found = desk.store.find(Handover, job_id=job.id)
    return tuple(sorted(found, key=lambda one: (not one.handed_at, one.handed_at)))


def where_is(desk: Desk, job: Job, at: str | None = None) -> Whereabouts:
    """Return where the instrument is by its handovers, the latest one (or the latest up to a UTC time) deciding.

    A job without handovers is here since it was opened. What is prepared and not handed over does not count.
    """
    done = [one for one in handovers_of(desk, job) if one.handed_at and (at is None or one.handed_at <= at)]
    people = {person.id: person for person in desk.store.find(Person)}
    whole = [one for one in done if one.thing == "instrument"]
    parts_out = tuple(
        PartOut(one.part_words, people.get(one.taker_id or ""), one.handed_at, one.due_on, one)
        for one in done
        if one.thing == "part" and one.step == "out" and not _ended(one, done)
    )
    if not whole:
        return Whereabouts("here", None, job.opened_at, "", None, parts_out)
    last = whole[-1]
    place: Place = {"intake": "here", "out": "out", "back": "here", "returned": "returned"}[last.step]
    person = None if place == "here" else people.get(last.taker_id or "")
    return Whereabouts(place, person, last.handed_at, last.due_on, last, parts_out)


def _ended(out: Handover, done: list[Handover]) -> bool:
    """A part is back when a later 'back' says it ends this 'out'."""
    return any(one.step == "back" and one.out_id == out.id and one.handed_at >= out.handed_at for one in done)


def where_words(where: Whereabouts) -> str:
    """Return where the instrument is in one line: who has it, or that it is here."""
    if where.place == "here":
        return say("handover.is_here")
    name = where.person.name if where.person else say("handover.somebody")
    return say("handover.is_out" if where.place == "out" else "handover.is_returned", who=name)


def prepare(desk: Desk, job: Job, step: HandoverStep, **fields: object) -> Handover:
    """Write down a change of hands; with ``handed_at`` (UTC) it has happened, without it is only prepared.

    For 'back' the open 'out' of the same thing is taken to be what it ends, when there is just one.

    Raises
    ------
    Refused
        ``handover.no_part``: a part that is named neither by the list nor in words; ``handover.nothing_out``: nothing
        is out that could come back; ``handover.before``: it would be back before it went out; ``plan.no_day``;
        ``money.unknown_currency``, ``money.negative``
    """
    fields.setdefault("currency", shop_money(desk).currency)
    one = Handover(new_id(), job.id, step, **fields)
    if step == "back" and not one.out_id:
        waiting = [out for out in open_outs(desk, job) if out.thing == one.thing]
        if not waiting:
            raise Refused("handover.nothing_out")
        one = replace(one, out_id=waiting[0].id) if len(waiting) == 1 else one
        if one.thing == "part" and not one.out_id:
            raise Refused("handover.which_out")
    return keep_handover(desk, one)


def open_outs(desk: Desk, job: Job) -> tuple[Handover, ...]:
    """Return what is out and not back."""
    done = [one for one in handovers_of(desk, job) if one.handed_at]
    return tuple(one for one in done if one.step == "out" and not _ended(one, done))


def keep_handover(desk: Desk, one: Handover) -> Handover:
    """Keep a handover as edited; raises as :func:`prepare`."""
    out = desk.store.one(Handover, id=one.out_id) if one.out_id else None
    if one.thing == "part" and out is not None and not (one.part_words or one.part_ids):
        one = replace(one, part_words=out.part_words, part_ids=out.part_ids)
    if one.thing == "part" and not (one.part_words.strip() or one.part_ids):
        raise Refused("handover.no_part")
    if out is not None and one.handed_at and out.handed_at and one.handed_at < out.handed_at:
        raise Refused("handover.before")
    require_day(one.due_on)
    currency(one.currency)
    if one.value_minor is not None and one.value_minor < 0:
        raise Refused("money.negative")
    before = desk.store.one(Handover, id=one.id)
    if before == one:
        return one
    with desk.store.write(new_id(), desk.person) as work:
        kept = work.put(one)
    if kept.handed_at and not (before and before.handed_at):
        _move_parts(desk, kept)
    return kept


def _move_parts(desk: Desk, one: Handover) -> None:
    """Parts of the list that went out are out to whoever took them; those that came back lie on the bench."""
    taker = desk.store.one(Person, id=one.taker_id) if one.taker_id else None
    for part in desk.store.find(Part, id=list(one.part_ids)) if one.thing == "part" and one.part_ids else ():
        if one.step == "out":
            move(desk, part, "out", out_to=taker.name if taker else say("handover.somebody"))
        elif one.step == "back" and part.place == "out":
            move(desk, part, "bench")


def hand_over(desk: Desk, one: Handover, *, at: str | None = None) -> Handover:
    """Say that a prepared handover has happened."""
    return keep_handover(desk, replace(desk.store.get(Handover, one.id), handed_at=at or utc_now()))


def sign(desk: Desk, one: Handover, name: str, *, at: str | None = None) -> Handover:
    """Write down who signed the paper for receiving it; an empty name takes it back."""
    name = " ".join(name.split())
    signed = replace(desk.store.get(Handover, one.id), signed_by=name, signed_at=(at or utc_now()) if name else "")
    return keep_handover(desk, signed)


def remove_handover(desk: Desk, one: Handover) -> None:
    with desk.store.write(new_id(), desk.person) as work:
        work.remove(work.get(Handover, one.id))


def put_back_handover(desk: Desk, handover_id: str) -> Handover:
    return put_back(desk, Handover, handover_id)


def must_not_touch(desk: Desk, job: Job) -> str:
    """Return what a specialist must leave alone, one a line: what is left undisturbed, and what the plan leaves."""
    undisturbed = [f"{one.name}: {one.reason}" if one.reason else one.name for one in left_undisturbed(desk, job)]
    left = [one.what for one in desk.store.find(Treatment, job_id=job.id, action="leave") if one.what]
    return "\n".join((*undisturbed, *left))


def condition_photos(desk: Desk, job: Job, step: HandoverStep) -> tuple[Photo, ...]:
    """Return the photos of that occasion; for a way out without photos of its own, those of the intake."""
    photos = desk.store.find(Photo, job_id=job.id, occasion=step)
    return photos or (desk.store.find(Photo, job_id=job.id, occasion="intake") if step == "out" else ())


def photos_of(desk: Desk, one: Handover) -> tuple[Photo, ...]:
    found = {photo.id: photo for photo in desk.store.find(Photo, id=list(one.photo_ids))} if one.photo_ids else {}
    return tuple(found[photo_id] for photo_id in one.photo_ids if photo_id in found)


def file_paper(desk: Desk, job: Job, one: Handover, name: str, data: bytes, nature: Nature) -> Attachment:
    """Keep a specialist's picture, invoice or letter with the handover it belongs to."""
    return attach(desk, job, name, data, nature=nature, about=one.id)


def papers_of(desk: Desk, job: Job, one: Handover) -> tuple[Attachment, ...]:
    return attachments_of(desk, job, one.id)

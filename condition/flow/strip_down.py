"""The strip-down log: steps added in seconds, stopped when a part is too fragile, read backwards and ticked off."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace

from condition.errors import Refused
from condition.flow.bags import bag_numbered
from condition.flow.desk import Desk, new_id, utc_now
from condition.flow.intake import take_in
from condition.records.job import Job
from condition.records.part import Part
from condition.records.reassembly import Account, account, read_backwards
from condition.records.strip_down import Bag, Screws, StripDownStep
from condition.report.left_over import over_in_words
from condition.store import Write

__all__ = [
    "SAME_BAG", "account_of", "bring_step_back", "edit_step", "layer_photo", "move_step", "off_now", "over_in_words",
    "put_back", "reassembly", "remove_step", "steps_of", "stop_too_fragile", "take_off", "take_tick_back",
]  # fmt: skip

SAME_BAG = 0
"""No bag has this number: a step edited with it stays in its bag."""


def steps_of(desk: Desk, job: Job) -> tuple[StripDownStep, ...]:
    """Return the steps in the order things came off."""
    return desk.store.find(StripDownStep, job_id=job.id)


def take_off(
    desk: Desk,
    job: Job,
    what: str = "",
    *,
    part_ids: Iterable[str] = (),
    screws: Iterable[Screws] = (),
    bag_number: int | None = None,
    at: str = "",
    **fields: object,
) -> StripDownStep:
    """Write down one step: what came off, and where it lies now. The parts it names move to the bag or the bench.

    Parameters
    ----------
    bag_number : the bag of that number, begun now if there is none
    fields : ``wires``, ``fragments``, ``photo_id`` as :class:`StripDownStep` has them

    Raises
    ------
    Refused
        ``strip_down.nothing``: neither words nor a part; ``strip_down.undisturbed``: a part is left undisturbed;
        ``strip_down.not_fitted``: a part came off in an earlier step; ``bags.bad_number``
    """
    part_ids, screws = tuple(part_ids), tuple(one for one in screws if one.count)
    if not (what.strip() or part_ids):
        raise Refused("strip_down.nothing")
    with desk.store.write(new_id(), desk.person) as work:
        parts = [work.get(Part, part_id) for part_id in part_ids]
        _require_may_come_off(work, job, parts)
        bag = bag_numbered(work, job, bag_number) if bag_number is not None else None
        step = StripDownStep(
            new_id(),
            job.id,
            _next_order(work, job),
            what.strip() or ", ".join(part.name for part in parts),
            part_ids,
            screws,
            bag_id=bag.id if bag else None,
            taken_at=at or utc_now(),
            taken_by=_worker(desk, job),
            **fields,
        )
        _lay_aside(work, step)
        return work.put(step)


def _require_may_come_off(work: Write, job: Job, parts: list[Part]) -> None:
    off = {
        part_id: step.step_order
        for step in work.find(StripDownStep, job_id=job.id)
        if not step.back and not step.stopped
        for part_id in step.part_ids
    }
    for part in parts:
        if part.undisturbed:
            raise Refused("strip_down.undisturbed", name=part.name, reason=part.undisturbed_reason)
        if part.id in off:
            raise Refused("strip_down.not_fitted", name=part.name, step=off[part.id])


def stop_too_fragile(
    desk: Desk, job: Job, what: str, reason: str, *, part_id: str | None = None, at: str = "", **fields: object
) -> StripDownStep:
    """Stop at a part that is too fragile: the step says so, and the part is left undisturbed from now on.

    The part is the one given, or the one of that name, or a new one of the list.

    Raises
    ------
    Refused
        ``strip_down.no_reason``, ``strip_down.nothing``
    """
    if not reason.strip():
        raise Refused("strip_down.no_reason")
    if not (what.strip() or part_id):
        raise Refused("strip_down.nothing")
    at = at or utc_now()
    with desk.store.write(new_id(), desk.person) as work:
        part = work.get(Part, part_id) if part_id else _part_named(work, job, what)
        part = work.put(
            replace(
                part,
                undisturbed=True,
                undisturbed_reason=reason.strip(),
                undisturbed_by=_worker(desk, job),
                undisturbed_at=at,
            )
        )
        return work.put(
            StripDownStep(
                new_id(),
                job.id,
                _next_order(work, job),
                what.strip() or part.name,
                (part.id,),
                stopped=True,
                reason=reason.strip(),
                taken_at=at,
                taken_by=_worker(desk, job),
                **fields,
            )
        )


def _part_named(work: Write, job: Job, name: str) -> Part:
    there = work.find(Part, job_id=job.id)
    known = next((part for part in there if part.name.casefold() == name.strip().casefold()), None)
    order = 1 + max((part.list_order for part in there), default=0)
    return known or Part(new_id(), job.id, name.strip(), list_order=order)


def edit_step(desk: Desk, step: StripDownStep, *, bag_number: int | None = SAME_BAG, **fields: object) -> StripDownStep:
    """Keep a step as edited; another bag takes its parts along.

    Parameters
    ----------
    bag_number : the bag of that number (begun now if there is none), None for no bag

    Raises
    ------
    Refused
        ``bags.bad_number``, ``strip_down.undisturbed``, ``strip_down.not_fitted``
    Stale
        It was changed elsewhere meanwhile.
    """
    with desk.store.write(new_id(), desk.person) as work:
        job = work.get(Job, step.job_id)
        if bag_number != SAME_BAG:
            fields["bag_id"] = bag_numbered(work, job, bag_number).id if bag_number is not None else None
        edited = replace(step, **fields)
        before = work.get(StripDownStep, step.id)
        if edited == before:
            return edited
        added = [work.get(Part, part_id) for part_id in edited.part_ids if part_id not in before.part_ids]
        _require_may_come_off(work, job, added)
        kept = work.put(edited)
        if not (kept.back or kept.stopped):
            _fit(work, [part_id for part_id in before.part_ids if part_id not in kept.part_ids])
            _lay_aside(work, kept)
        return kept


def remove_step(desk: Desk, step: StripDownStep) -> None:
    """Take a step out of the log; what it took off counts as fitted. :func:`bring_step_back` undoes it.

    A decision to leave a part undisturbed stays: it is taken back on the parts list.
    """
    with desk.store.write(new_id(), desk.person) as work:
        step = work.get(StripDownStep, step.id)
        if not step.stopped and not step.back:
            _fit(work, step.part_ids)
        work.remove(step)


def bring_step_back(desk: Desk, step_id: str) -> StripDownStep:
    """Put a removed step back in its place of the log."""
    with desk.store.write(new_id(), desk.person) as work:
        step = work.restore(StripDownStep, step_id)
        if not step.stopped and not step.back:
            _lay_aside(work, step)
        return step


def move_step(desk: Desk, step: StripDownStep, by: int) -> None:
    """Let a step change places with its neighbour: -1 earlier, 1 later; at either end nothing happens."""
    with desk.store.write(new_id(), desk.person) as work:
        steps = list(work.find(StripDownStep, job_id=step.job_id))
        here = next(place for place, one in enumerate(steps) if one.id == step.id)
        if 0 <= here + by < len(steps):
            one, other = steps[here], steps[here + by]
            work.put(replace(one, step_order=other.step_order))
            work.put(replace(other, step_order=one.step_order))


def reassembly(desk: Desk, job: Job) -> tuple[StripDownStep, ...]:
    """Return the log read backwards: what goes back, in the order it does."""
    return read_backwards(steps_of(desk, job))


def put_back(
    desk: Desk,
    step: StripDownStep,
    screws_back: Iterable[int] | None = None,
    *,
    over_reason: str = "",
    at: str = "",
) -> StripDownStep:
    """Tick a step of the reassembly off: its parts are fitted again.

    Parameters
    ----------
    screws_back : how many of each of the step's screws went back in; all of them when left out

    Raises
    ------
    Refused
        ``strip_down.too_many_back``: more than came off; ``strip_down.part_out``: a part is out to somebody
    """
    counts = tuple(screws_back) if screws_back is not None else tuple(one.count for one in step.screws)
    if len(counts) != len(step.screws) or any(
        not 0 <= back <= one.count for back, one in zip(counts, step.screws, strict=True)
    ):
        raise Refused("strip_down.too_many_back", step=step.step_order, count=step.screw_count)
    screws = tuple(replace(one, back=back) for one, back in zip(step.screws, counts, strict=True))
    with desk.store.write(new_id(), desk.person) as work:
        job = work.get(Job, step.job_id)
        for part_id in step.part_ids:
            part = work.one(Part, id=part_id)
            if part and part.place == "out":
                raise Refused("strip_down.part_out", name=part.name, who=part.out_to)
        if not step.stopped:
            _fit(work, step.part_ids)
        return work.put(
            replace(
                step,
                screws=screws,
                back_at=at or utc_now(),
                back_by=_worker(desk, job),
                over_reason=over_reason.strip() if any(one.left for one in screws) else "",
            )
        )


def take_tick_back(desk: Desk, step: StripDownStep) -> StripDownStep:
    """Undo a tick: the step's parts and screws are off again, where they lay."""
    with desk.store.write(new_id(), desk.person) as work:
        off = replace(
            step,
            screws=tuple(replace(one, back=0) for one in step.screws),
            back_at="",
            back_by="",
            over_reason="",
        )
        if not step.stopped:
            _lay_aside(work, off)
        return work.put(off)


def account_of(desk: Desk, job: Job) -> Account:
    """Return what is left over: bags, screws, parts."""
    return account(steps_of(desk, job), desk.store.find(Bag, job_id=job.id), desk.store.find(Part, job_id=job.id))


def layer_photo(desk: Desk, step: StripDownStep, name: str, data: bytes) -> StripDownStep:
    """Take in the picture of a step's layer, as a photo of the strip-down, and link it.

    Raises
    ------
    Refused
        ``photo.*``: the file is no photo that can be taken in; the step stays as it is.
    """
    (taken,) = take_in(desk, desk.store.get(Job, step.job_id), [(name, data)], occasion="strip-down")
    if taken.photo is None:
        raise taken.error
    return edit_step(desk, step, photo_id=taken.photo.id)


def off_now(desk: Desk, job: Job) -> frozenset[str]:
    """Return the ids of parts that are off by the log."""
    steps = steps_of(desk, job)
    return frozenset(part_id for step in steps if not (step.back or step.stopped) for part_id in step.part_ids)


def _lay_aside(work: Write, step: StripDownStep) -> None:
    place = ("bag", step.bag_id) if step.bag_id else ("bench", None)
    _each(work, step.part_ids, lambda part: replace(part, place=place[0], bag_id=place[1], out_to=""))


def _fit(work: Write, part_ids: Iterable[str]) -> None:
    _each(work, part_ids, lambda part: replace(part, place="fitted", bag_id=None, out_to=""))


def _each(work: Write, part_ids: Iterable[str], change: Callable[[Part], Part]) -> None:
    for part_id in part_ids:
        part = work.one(Part, id=part_id)
        if part is not None and change(part) != part:
            work.put(change(part))


def _next_order(work: Write, job: Job) -> int:
    return 1 + max((step.step_order for step in work.find(StripDownStep, job_id=job.id)), default=0)


def _worker(desk: Desk, job: Job) -> str:
    return job.examiner or desk.person

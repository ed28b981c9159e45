"""The return check: which photos are compared, what was declared, and what stands open.

Any handover can be compared with any later one.
"""

from __future__ import annotations

from dataclasses import replace

from condition.errors import Refused
from condition.flow.desk import Desk, new_id, utc_now
from condition.flow.photos import arrange
from condition.flow.return_changes import changes_of, explain_again
from condition.flow.return_verdicts import propose_again
from condition.records.job import Job
from condition.records.photo import Occasion, Photo
from condition.records.return_check import (
    OCCASIONS,
    DeclaredChange,
    ReturnChange,
    ReturnCheck,
    ReturnPair,
    ReturnVerdict,
)


def open_check(desk: Desk, job: Job, earlier: Occasion = "intake", later: Occasion = "returned") -> ReturnCheck:
    """Return the job's check of two handovers, begun now if there is none.

    Raises
    ------
    Refused
        ``return.order``: the second does not come after the first.
    """
    known = desk.store.find(ReturnCheck, job_id=job.id, earlier=earlier, later=later)
    if known:
        return known[0]
    order = (earlier, later)
    if not set(order) <= set(OCCASIONS) or OCCASIONS.index(earlier) >= OCCASIONS.index(later):
        raise Refused("return.order")
    with desk.store.write(new_id(), desk.person) as work:
        return work.put(ReturnCheck(new_id(), job.id, earlier, later, begun_at=utc_now()))


def checks_of(desk: Desk, job: Job) -> tuple[ReturnCheck, ...]:
    return desk.store.find(ReturnCheck, job_id=job.id)


def photos_of(desk: Desk, check: ReturnCheck) -> tuple[tuple[Photo, ...], tuple[Photo, ...]]:
    """Return the earlier and the later photos, in the job's order."""
    photos = desk.store.find(Photo, job_id=check.job_id)
    return tuple(
        tuple(photo for photo in photos if photo.occasion == occasion) for occasion in (check.earlier, check.later)
    )


def pairs_of(desk: Desk, check: ReturnCheck) -> tuple[ReturnPair, ...]:
    return desk.store.find(ReturnPair, check_id=check.id)


def unpaired(desk: Desk, check: ReturnCheck) -> tuple[tuple[Photo, ...], tuple[Photo, ...]]:
    """Return the earlier and the later photos that are in no pair."""
    earlier, later = photos_of(desk, check)
    pairs = pairs_of(desk, check)
    used = {photo_id for pair in pairs for photo_id in (pair.before_id, pair.after_id, pair.again_id)}
    return tuple(tuple(photo for photo in photos if photo.id not in used) for photos in (earlier, later))


def edit_check(desk: Desk, check: ReturnCheck, **fields: object) -> ReturnCheck:
    """Keep the check's words as edited."""
    with desk.store.write(new_id(), desk.person) as work:
        before = work.get(ReturnCheck, check.id)
        edited = replace(before, **fields)
        return before if edited == before else work.put(edited)


def declare(desk: Desk, check: ReturnCheck, declared: DeclaredChange) -> ReturnCheck:
    """Put a declared change, or put it anew; it explains at once what it explains."""
    now = desk.store.get(ReturnCheck, check.id)
    ids = [one.id for one in now.declared]
    listed = list(now.declared)
    if declared.id in ids:
        listed[ids.index(declared.id)] = declared
    else:
        listed.append(declared)
    kept = edit_check(desk, now, declared=tuple(listed))
    explain_again(desk, kept)
    propose_again(desk, kept)
    return kept


def undeclare(desk: Desk, check: ReturnCheck, declared_id: str) -> ReturnCheck:
    """Take a declared change away; what it explained is open again."""
    now = desk.store.get(ReturnCheck, check.id)
    kept = edit_check(desk, now, declared=tuple(one for one in now.declared if one.id != declared_id))
    explain_again(desk, kept)
    propose_again(desk, kept)
    return kept


def put_pair(desk: Desk, check: ReturnCheck, after: Photo, before: Photo, *, again: Photo | None = None) -> ReturnPair:
    """Pair a later photo with an earlier one by hand; it counts as confirmed. An earlier pairing of it is replaced.

    Raises
    ------
    Refused
        ``return.same_photo``
    """
    if before.id == after.id or (again is not None and again.id in (before.id, after.id)):
        raise Refused("return.same_photo", file=after.file_name)
    with desk.store.write(new_id(), desk.person) as work:
        known = next((pair for pair in work.find(ReturnPair, check_id=check.id) if pair.after_id == after.id), None)
        again_id = again.id if again else None
        if known is not None and (known.before_id, known.again_id) == (before.id, again_id):
            kept = known if known.confirmed else work.put(replace(known, confirmed=True))
        else:
            if known is not None:
                _take_out(work, known)
            kept = work.put(
                ReturnPair(
                    new_id(), check.job_id, check.id, before.id, after.id, again_id=again_id, confirmed=True,
                    likeness=known.likeness if known and known.before_id == before.id else 0,
                )
            )  # fmt: skip
    _same_face(desk, kept)
    return kept


def confirm_pair(desk: Desk, pair: ReturnPair) -> ReturnPair:
    """Say that a proposed pair belongs together; the later photo takes the earlier one's face."""
    with desk.store.write(new_id(), desk.person) as work:
        kept = work.put(replace(work.get(ReturnPair, pair.id), confirmed=True))
    _same_face(desk, kept)
    return kept


def take_apart(desk: Desk, pair: ReturnPair) -> None:
    """Take a pair out with what was found on it; the change log keeps both."""
    with desk.store.write(new_id(), desk.person) as work:
        _take_out(work, work.get(ReturnPair, pair.id))
    propose_again(desk, desk.store.get(ReturnCheck, pair.check_id))


def _take_out(work, pair: ReturnPair) -> None:
    for change in work.find(ReturnChange, pair_id=pair.id):
        work.remove(change)
    work.remove(pair)


def _same_face(desk: Desk, pair: ReturnPair) -> None:
    before, after = desk.store.get(Photo, pair.before_id), desk.store.get(Photo, pair.after_id)
    if after.view_id is None and before.view_id is not None:
        arrange(desk, after, view_id=before.view_id)


def open_changes(desk: Desk, check: ReturnCheck) -> tuple[ReturnChange, ...]:
    """Return the sure changes that belong to no finding and that nobody has decided on, each place once."""
    return tuple(
        one
        for one in changes_of(desk, check)
        if one.decision == "open" and not one.touches and not one.same_as and not one.reason
    )


def remove_check(desk: Desk, check: ReturnCheck) -> None:
    """Take a check out of the job with all that was found; findings made from it stay."""
    with desk.store.write(new_id(), desk.person) as work:
        for kind in (ReturnVerdict, ReturnChange, ReturnPair):
            for one in work.find(kind, check_id=check.id):
                work.remove(one)
        work.remove(work.get(ReturnCheck, check.id))

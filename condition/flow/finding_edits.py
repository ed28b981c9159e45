"""Several findings changed in one go, and what can be taken back: a change of several, a removed finding."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from condition.errors import Refused
from condition.flow.desk import Desk, new_id
from condition.flow.marked import measure_again
from condition.records.finding import Finding
from condition.records.job import Job
from condition.records.mark import Mark
from condition.store.codec import codec

TOGETHER = ("kind", "state", "decision", "decision_reason")
"""What several findings can be given at once."""


def edit_together(desk: Desk, finding_ids: Iterable[str], **fields: str) -> str:
    """Give several findings of a job the same kind, state, decision or reason, all or none.

    Returns
    -------
    The operation, for :func:`take_back`.

    Raises
    ------
    Refused
        ``examine.nothing_to_change``: no field, or no finding, is given.
    """
    given = {name: value for name, value in fields.items() if value is not None}
    ids = list(dict.fromkeys(finding_ids))
    if not ids or not given or set(given) - set(TOGETHER):
        raise Refused("examine.nothing_to_change")
    operation, kinds_changed = new_id(), []
    with desk.store.write(operation, desk.person) as work:
        for finding_id in ids:
            before = work.get(Finding, finding_id)
            own = "" if given.get("kind", before.kind) != before.kind else before.own_kind
            after = replace(before, **given, own_kind=own)
            if after != before:
                work.put(after)
                kinds_changed += [finding_id] if after.kind != before.kind else []
        work.answer({"changed": ids, "fields": sorted(given)})
    _measure(desk, kinds_changed)
    return operation


def take_back(desk: Desk, operation: str) -> tuple[Finding, ...]:
    """Undo a change of several findings; a field that somebody changed since stays as it is now.

    Returns
    -------
    The findings as they stand, those that could be taken back.
    """
    told = desk.store.answered(operation) or {}
    restored, kinds_changed = [], []
    with desk.store.write(new_id(), desk.person) as work:
        for finding_id in told.get("changed", ()):
            change = next((one for one in desk.store.history(finding_id) if one.operation == operation), None)
            now = work.one(Finding, id=finding_id)
            if change is None or now is None:
                continue
            before, after = (codec(Finding).decode(side) for side in (change.before, change.after))
            fields = {
                name: getattr(before, name)
                for name in (*told["fields"], "own_kind")
                if getattr(now, name) == getattr(after, name)
            }
            kept = replace(now, **fields)
            if kept != now:
                restored.append(work.put(kept))
                kinds_changed += [finding_id] if kept.kind != now.kind else []
    _measure(desk, kinds_changed)
    return tuple(restored)


def put_back(desk: Desk, finding_id: str) -> Finding | None:
    """Put a removed finding back with the marks that went with it; None when it is there or never was."""
    changes = desk.store.history(finding_id)
    if not changes or changes[-1].after is not None:
        return None
    operation = changes[-1].operation
    marks = (desk.store.answered(operation) or {}).get("marks", ())
    with desk.store.write(new_id(), desk.person) as work:
        finding = work.restore(Finding, finding_id)
        for mark_id in marks:
            work.restore(Mark, mark_id)
    return finding


def last_removed(desk: Desk, job: Job, finding_id: str | None) -> Finding | None:
    """Return a finding of the job as it was when it was removed; None when it is there."""
    if finding_id is None or desk.store.one(Finding, id=finding_id) is not None:
        return None
    changes = desk.store.history(finding_id)
    if not changes or changes[-1].after is not None:
        return None
    gone = codec(Finding).decode(changes[-1].before)
    return gone if gone.job_id == job.id else None


def _measure(desk: Desk, finding_ids: list[str]) -> None:
    if finding_ids:
        for photo_id in {mark.photo_id for mark in desk.store.find(Mark, finding_id=finding_ids)}:
            measure_again(desk, photo_id)

"""The examination: marks put on photos one operation at a time, each measured as it lands."""

from __future__ import annotations

from dataclasses import replace
from uuid import UUID

from condition.errors import InvalidRecord, Refused
from condition.flow import assists
from condition.flow.desk import Desk, new_id
from condition.flow.findings import edit_finding
from condition.flow.marked import BANK_CARD, KNOWN_DISTANCE, OUTLINE, ROLES, SCALES, measured
from condition.flow.scales import scale_again
from condition.records.fault import Fault
from condition.records.finding import Finding
from condition.records.job import Job
from condition.records.legend import kind_of
from condition.records.mark import Mark
from condition.records.measurement import as_text
from condition.records.photo import Photo
from condition.records.shapes import Line, Ring, shape_from_dict, shape_to_dict
from condition.records.stamp import Stamp
from condition.records.view import View
from condition.store import AlreadyDone, Stale, Write
from condition.words import say, say_error

BESIDE_THE_MARK = ("length", "width", "diameter", "area", "share", "distance")
"""Quantities shown at a mark itself; the rest is told beside its finding."""


def marks_of(desk: Desk, photo_id: str) -> list[dict]:
    """Return the photo's marks as the canvas draws them, in finding order."""
    photo = desk.store.get(Photo, photo_id)
    findings = {finding.id: finding for finding in desk.store.find(Finding, job_id=photo.job_id)}
    marks = [_drawn(mark, findings.get(mark.finding_id)) for mark in desk.store.find(Mark, photo_id=photo_id)]
    return sorted(marks, key=lambda mark: mark["number"] or 0)


def apply(desk: Desk, operation: dict) -> dict:
    """Put or remove one mark; a repeated operation is answered again, not done again.

    Parameters
    ----------
    operation : ``{"op": uuid, "do": "put" | "remove", "mark": {"id", "photo_id", "finding_id", "kind", "shape", "how",
        "pick_sd_px", "kind_changed", "joined"}, "version": int}``; the version is that of the mark it was made from, 0
        for a new one; ``kind_changed`` true gives the mark's finding the kind as well; ``joined`` true removes a mark
        that is part of another one now, and keeps its finding

    Returns
    -------
    ``{"ok": True, "mark": ...}`` with the mark as :func:`marks_of` gives it, None once removed, then with
    ``"unmarked"``, the number of its finding, when that is kept without any mark; or ``{"ok": False,
    "error": sentence, "mark": ...}`` with the mark as it stands when somebody changed it meanwhile.

    Raises
    ------
    Refused
        ``mark.unreadable``: the operation makes no sense.
    """
    answer, wanted = _applied(desk, operation), operation["mark"]
    mark = answer["mark"]
    if not (answer["ok"] and mark and mark["finding_id"] and wanted.get("kind_changed") is True):
        return answer
    kind, own = kind_of(str(wanted.get("kind")))
    edit_finding(desk, replace(desk.store.get(Finding, mark["finding_id"]), kind=kind, own_kind=own))
    return {"ok": True, "mark": next((m for m in marks_of(desk, mark["photo_id"]) if m["id"] == mark["id"]), None)}


def _applied(desk: Desk, operation: dict) -> dict:
    op, mark_id, photo_id = _ids(operation)
    photo = desk.store.get(Photo, photo_id)
    done = desk.store.answered(op)
    if done is not None:
        return done
    try:
        if operation.get("do") == "remove":
            return _remove(desk, op, mark_id, operation)
        return _put(desk, op, _read(operation, mark_id, photo), photo, operation["mark"])
    except AlreadyDone as before:
        return before.answer
    except Stale as stale:
        mark = stale.current if isinstance(stale.current, Mark) else None
        finding = desk.store.one(Finding, id=mark.finding_id) if mark and mark.finding_id else None
        return {"ok": False, "error": say_error(stale), "mark": _drawn(mark, finding) if mark else None}


def outline_from_photo(desk: Desk, photo: Photo) -> dict:
    """Take the outline of the photo's face from its pixels and put it as a mark, to be corrected by dragging.

    Returns
    -------
    As :func:`apply`, with the ``"advice"`` of :func:`condition.flow.assists.take_outline`.

    Raises
    ------
    Refused
        ``assist.*``: no outline stands out; ``mark.second_outline``
    """
    taken = assists.outline(desk, photo.id)
    shape = shape_to_dict(Ring(tuple((x, y) for x, y in taken["ring"])))
    mark = {"id": new_id(), "photo_id": photo.id, "finding_id": None, "kind": OUTLINE, "shape": shape, "how": "grown"}
    return {**apply(desk, {"op": new_id(), "do": "put", "version": 0, "mark": mark}), "advice": taken["advice"]}


def _put(desk: Desk, op: str, mark: Mark, photo: Photo, values: dict) -> dict:
    _require_role_shape(mark)
    finding = desk.store.one(Finding, id=mark.finding_id) if mark.finding_id else None
    kind = mark.role if mark.role != "finding" else finding.kind if finding else kind_of(str(values.get("kind")))[0]
    mark = measured(desk, mark, photo, kind)
    with desk.store.write(op, desk.person) as work:
        finding = _finding_for(desk, work, values, photo, mark)
        mark = replace(mark, finding_id=finding.id if finding else None)
        if mark.version == 0 and work.one(Mark, id=mark.id) is None and desk.store.history(mark.id):
            mark = replace(mark, version=work.restore(Mark, mark.id).version)
        if mark.role == OUTLINE:
            _claim_outline(work, mark, photo)
        mark = work.put(mark)
        answer = {"ok": True, "mark": _drawn(mark, finding)}
        work.answer(answer)
    if mark.role in SCALES:
        scale_again(desk, photo.id)
    return answer


def _remove(desk: Desk, op: str, mark_id: str, operation: dict) -> dict:
    unmarked = False
    with desk.store.write(op, desk.person) as work:
        mark = work.one(Mark, id=mark_id)
        if mark is not None:
            work.remove(replace(mark, version=_version(operation) or mark.version))
            finding = work.get(Finding, mark.finding_id) if mark.finding_id else None
            unmarked = finding is not None and not work.find(Mark, finding_id=finding.id)
        answer = {"ok": True, "mark": None, "removed": mark_id}
        if unmarked and operation["mark"].get("joined") is not True and _bare(work, finding):
            work.remove(finding)
        elif unmarked:
            answer["unmarked"] = finding.number
        work.answer(answer)
    if mark is not None and mark.role in SCALES:
        scale_again(desk, mark.photo_id)
    return answer


def _bare(work: Write, finding: Finding) -> bool:
    """Nothing was written about it and nothing refers to it: it goes with its last mark, and its number stays used."""
    if any(work.find(kind, finding_id=finding.id) for kind in (Fault, Stamp)):
        return False
    return not (finding.place or finding.observation or finding.interpretation or finding.typed or finding.decision)


def _finding_for(desk: Desk, work: Write, values: dict, photo: Photo, mark: Mark) -> Finding | None:
    if mark.role != "finding":
        return None
    if not mark.finding_id:
        kind, own = kind_of(str(values.get("kind") or "other"))
        number = work.next_number(work.get(Job, photo.job_id))
        return work.put(Finding(new_id(), photo.job_id, number, kind, own_kind=own, view_id=photo.view_id))
    known = work.one(Finding, id=mark.finding_id)
    if known is None and desk.store.history(mark.finding_id):
        known = work.restore(Finding, mark.finding_id)
    if known is None or known.job_id != photo.job_id:
        raise Refused("mark.unreadable")
    return known


def _claim_outline(work: Write, mark: Mark, photo: Photo) -> None:
    """One outline a face: the photo it is drawn on becomes the face's base."""
    if photo.view_id is None:
        raise Refused("mark.outline_without_view")
    view = work.get(View, photo.view_id)
    base_marks = work.find(Mark, photo_id=view.base_photo_id, role=OUTLINE) if view.base_photo_id else ()
    if any(other.id != mark.id for other in (*base_marks, *work.find(Mark, photo_id=photo.id, role=OUTLINE))):
        raise Refused("mark.second_outline", view=view.name)
    if view.base_photo_id != photo.id:
        work.put(replace(view, base_photo_id=photo.id))


def _require_role_shape(mark: Mark) -> None:
    if mark.role == OUTLINE and not isinstance(mark.shape_px, Ring):
        raise Refused("mark.outline_is_a_ring")
    if mark.role == KNOWN_DISTANCE and not (isinstance(mark.shape_px, Line) and len(mark.shape_px.points) == 2):
        raise Refused("mark.known_distance_is_a_line")
    if mark.role == BANK_CARD and not (isinstance(mark.shape_px, Ring) and len(mark.shape_px.points) == 4):
        raise Refused("mark.bank_card_has_four_corners")


def _ids(operation: dict) -> tuple[str, str, str]:
    try:
        mark = operation["mark"]
        op, mark_id, photo_id = (str(UUID(str(value))) for value in (operation["op"], mark["id"], mark["photo_id"]))
    except (KeyError, TypeError, ValueError) as error:
        raise Refused("mark.unreadable") from error
    return op, mark_id, photo_id


def _version(operation: dict) -> int:
    try:
        return int(operation.get("version") or 0)
    except (TypeError, ValueError) as error:
        raise Refused("mark.unreadable") from error


def _read(operation: dict, mark_id: str, photo: Photo) -> Mark:
    values = operation["mark"]
    kind = str(values.get("kind") or "")
    try:
        sd = values.get("pick_sd_px")
        return Mark(
            id=mark_id,
            photo_id=photo.id,
            finding_id=values.get("finding_id"),
            shape_px=shape_from_dict(values["shape"]),
            how=values.get("how") or "hand",
            role=kind if kind in ROLES else "finding",
            pick_sd_px=float(sd) if sd is not None else None,
            version=_version(operation),
        )
    except (InvalidRecord, KeyError, TypeError, ValueError) as error:
        raise Refused("mark.unreadable") from error


def _drawn(mark: Mark, finding: Finding | None) -> dict:
    return {
        "id": mark.id,
        "photo_id": mark.photo_id,
        "finding_id": mark.finding_id,
        "number": finding.number if finding else None,
        "kind": finding.kind if finding else mark.role,
        "shape": shape_to_dict(mark.shape_px),
        "how": mark.how,
        "version": mark.version,
        "text": " · ".join(as_text(m) for m in mark.measurements if m.quantity in BESIDE_THE_MARK),
        "measurements": [{"quantity": m.quantity, "text": as_text(m)} for m in mark.measurements],
        "not_measured": say(mark.not_measured) if mark.not_measured else "",
    }

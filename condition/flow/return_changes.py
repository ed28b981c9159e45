"""The changes of a return check: which findings they touch, what was declared for them, and what is decided of each."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING
from uuid import UUID, uuid5

import numpy as np

from condition.errors import Refused
from condition.flow.desk import Desk, new_id, utc_now
from condition.flow.examination import apply
from condition.flow.findings import edit_finding
from condition.flow.return_shapes import sides_of
from condition.records.finding import Finding
from condition.records.mark import Mark
from condition.records.photo import Photo
from condition.records.return_check import DeclaredChange, PhotoLink, ReturnChange, ReturnCheck, ReturnPair
from condition.records.shapes import Ring, Shape, shape_to_dict

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

PROGRAM = "program"
STRING_WIDE_MM, STRING_SLENDER = 3.5, 2.5
"""A string's trace is no wider than a wound string with its shadow, and that much longer than wide: a broader change
below new strings stays open."""
STRING_WIDE_SHARE = 0.006
"""The same where there is no scale, of the photo's longer side."""
CLEANED_LIGHTER = 1.0
"""L*: a cleaned top becomes lighter beside what was not dirty."""
COVERED = 0.6
"""Share of a change that lies in a declared region for it to be explained by it."""
TOUCH_PX = 6.0
SAME_PLACE = 0.2
"""Least overlap, intersection over the smaller, of two changes that show the same place."""


def surface_of(shape: Shape, spare_px: float = 0.0) -> BaseGeometry:
    """The area a mark or ring stands for, in its own pixels."""
    from shapely.geometry import LineString, Polygon
    from shapely.geometry import Point as Spot

    from condition.records.shapes import Circle, Line, Point

    match shape:
        case Point(x, y):
            return Spot(x, y).buffer(8.0 + spare_px)
        case Circle(x, y, radius):
            return Spot(x, y).buffer(radius + spare_px)
        case Line(points):
            return LineString(points).buffer(3.0 + spare_px)
        case Ring(points, holes):
            return Polygon(points, holes).buffer(0).buffer(spare_px)


def moved(area: BaseGeometry, homography: tuple[float, ...]) -> BaseGeometry:
    """An area through a homography, nine numbers row by row."""
    import shapely

    matrix = np.array(homography).reshape(3, 3)

    def through(points: np.ndarray) -> np.ndarray:
        seen = points @ matrix[:, :2].T + matrix[:, 2]
        return seen[:, :2] / seen[:, 2:]

    return shapely.transform(area, through).buffer(0)


def on_photo(area: BaseGeometry, of_photo: str, photo_id: str, links: tuple[PhotoLink, ...]) -> BaseGeometry | None:
    """An area of one earlier photo as it lies on another one, None when nobody knows."""
    if of_photo == photo_id:
        return area
    for link in links:
        if (link.from_id, link.to_id) == (of_photo, photo_id):
            return moved(area, link.homography)
        if (link.to_id, link.from_id) == (of_photo, photo_id):
            back = np.linalg.inv(np.array(link.homography).reshape(3, 3))
            return moved(area, tuple(back.ravel()))
    return None


def touched(
    ring_px: Ring, photo_id: str, marks: tuple[Mark, ...], links: tuple[PhotoLink, ...] = ()
) -> tuple[str, ...]:
    """Return the findings whose marks a change on an earlier photo touches, in the order of the marks."""
    change = surface_of(ring_px)
    found = []
    for mark in marks:
        if not mark.finding_id or mark.finding_id in found:
            continue
        place = on_photo(surface_of(mark.shape_px, TOUCH_PX), mark.photo_id, photo_id, links)
        if place is not None and place.intersects(change):
            found.append(mark.finding_id)
    return tuple(found)


def explained_by(change: ReturnChange, declared: tuple[DeclaredChange, ...], photo: Photo) -> str:
    """Return the id of the declared change that explains a change on an earlier photo, empty when none does."""
    return next((one.id for one in declared if _explains(one, change, photo)), "")


def _explains(declared: DeclaredChange, change: ReturnChange, photo: Photo) -> bool:
    if declared.regions:
        area = surface_of(change.ring_before_px)
        rings = [region.ring_px for region in declared.regions if region.photo_id == photo.id]
        inside = sum(surface_of(ring).intersection(area).area for ring in rings)
        if inside < COVERED * area.area:
            return False
    match declared.what:
        case "new strings":
            return bool(declared.regions) and _is_slender(change, photo)
        case "top cleaned":
            return change.lighter >= CLEANED_LIGHTER
        case "part swapped" | "other":
            return bool(declared.regions)
    return False


def _is_slender(change: ReturnChange, photo: Photo) -> bool:
    shorter, longer = sides_of(surface_of(change.ring_before_px))
    scale = photo.plane.mm_per_px if photo.plane else 0.0
    widest = STRING_WIDE_MM / scale if scale else STRING_WIDE_SHARE * max(photo.width, photo.height)
    return shorter <= widest and longer >= STRING_SLENDER * shorter


def explain_again(desk: Desk, check: ReturnCheck) -> None:
    """Have the declared changes explain what they explain; what a person decided stays."""
    pairs = {pair.id: pair for pair in desk.store.find(ReturnPair, check_id=check.id)}
    changed = []
    for change in desk.store.find(ReturnChange, check_id=check.id):
        if change.decided_by not in ("", PROGRAM):
            continue
        photo = desk.store.get(Photo, pairs[change.pair_id].before_id)
        declared = explained_by(change, check.declared, photo)
        decision, by = ("explained", PROGRAM) if declared else ("open", "")
        if (declared, decision) != (change.declared_id, change.decision):
            at = utc_now() if declared else ""
            changed.append(replace(change, declared_id=declared, decision=decision, decided_by=by, decided_at=at))
    if changed:
        with desk.store.write(new_id(), desk.person) as work:
            for change in changed:
                work.put(change)


def joined(changes: list[ReturnChange], pairs: dict[str, ReturnPair], links: tuple[PhotoLink, ...]):
    """Say of each change whether one before it in the list shows the same place on another photo."""
    told: list[ReturnChange] = []
    for change in changes:
        here = pairs[change.pair_id].before_id
        area = surface_of(change.ring_before_px, 2.0)
        same = ""
        for other in told:
            if other.pair_id == change.pair_id or other.same_as:
                continue
            there = on_photo(surface_of(other.ring_before_px, 2.0), pairs[other.pair_id].before_id, here, links)
            if there is not None and there.intersection(area).area > SAME_PLACE * min(there.area, area.area):
                same = other.id
                break
        told.append(replace(change, same_as=same))
    return told


def changes_of(desk: Desk, check: ReturnCheck) -> tuple[ReturnChange, ...]:
    """Return every change of a check: open ones first, sure before doubtful, the surest first. One whose finding was
    taken away is open again."""
    order = {"open": 0, "accepted": 1, "explained": 2, "dismissed": 3}
    findings = {finding.id for finding in desk.store.find(Finding, job_id=check.job_id)}
    return tuple(
        sorted(
            (
                replace(one, decision="open", finding_id="")
                if one.decision == "accepted" and one.finding_id not in findings
                else one
                for one in desk.store.find(ReturnChange, check_id=check.id)
            ),
            key=lambda one: (order[one.decision], bool(one.reason), -one.sureness),
        )
    )


def mark_id_of(change: ReturnChange) -> str:
    """Return the id of the mark that accepting a change makes: always the same, so that accepting twice makes one."""
    return str(uuid5(UUID(change.id), "mark"))


def accept_as_finding(
    desk: Desk, change: ReturnChange, kind: str, words: str = "", finding_id: str | None = None
) -> Finding:
    """Make a change a numbered finding with a ring on the later photo, or a further mark of a finding that is there.

    Raises
    ------
    Refused
        ``mark.*``: the ring cannot be kept.
    """
    pair = desk.store.get(ReturnPair, change.pair_id)
    after = desk.store.get(Photo, pair.after_id)
    known = desk.store.one(Mark, id=mark_id_of(change))
    answer = apply(
        desk,
        {
            "op": new_id(),
            "do": "put",
            "version": known.version if known else 0,
            "mark": {
                "id": mark_id_of(change),
                "photo_id": after.id,
                "finding_id": known.finding_id if known else finding_id,
                "kind": kind,
                "shape": shape_to_dict(change.ring_after_px),
                "how": "grown",
            },
        },
    )
    if not answer["ok"]:
        raise Refused("return.not_accepted", why=answer["error"])
    finding = desk.store.get(Finding, answer["mark"]["finding_id"])
    if words.strip() and not finding.observation:
        finding = edit_finding(desk, replace(finding, observation=words.strip()))
    for one in (change, *_same_place(desk, change)):
        _decide(desk, one, "accepted", words, finding_id=finding.id)
    return finding


def explain(desk: Desk, change: ReturnChange, words: str) -> ReturnChange:
    """Say what explains a change.

    Raises
    ------
    Refused
        ``return.no_words``: nothing was said.
    """
    return _with_words(desk, change, "explained", words)


def dismiss(desk: Desk, change: ReturnChange, words: str) -> ReturnChange:
    """Put a change aside with the reason why it is none; it stays in the list.

    Raises
    ------
    Refused
        ``return.no_words``
    """
    return _with_words(desk, change, "dismissed", words)


def reopen(desk: Desk, change: ReturnChange) -> ReturnChange:
    """Take a decision back; the mark that accepting made goes, and its finding with it when nothing was written.

    What a declared change explained stays open from then on.
    """
    mark = desk.store.one(Mark, id=mark_id_of(change))
    if mark is not None:
        apply(
            desk,
            {"op": new_id(), "do": "remove", "version": mark.version,
             "mark": {"id": mark.id, "photo_id": mark.photo_id, "shape": shape_to_dict(mark.shape_px)}},
        )  # fmt: skip
    for one in _same_place(desk, change):
        if one.decision == change.decision:
            _decide(desk, one, "open", "")
    return _decide(desk, change, "open", "")


def _with_words(desk: Desk, change: ReturnChange, decision: str, words: str) -> ReturnChange:
    if not words.strip():
        raise Refused("return.no_words")
    for one in _same_place(desk, change):
        _decide(desk, one, decision, words)
    return _decide(desk, change, decision, words)


def _same_place(desk: Desk, change: ReturnChange) -> tuple[ReturnChange, ...]:
    """The same change as other pairs show it, while nobody decided it otherwise."""
    first = change.same_as or change.id
    found = desk.store.find(ReturnChange, check_id=change.check_id)
    return tuple(
        one for one in found if one.id != change.id and first in (one.id, one.same_as) and one.decision != "accepted"
    )


def _decide(desk: Desk, change: ReturnChange, decision: str, words: str, finding_id: str = "") -> ReturnChange:
    now = desk.store.get(ReturnChange, change.id)
    decided = replace(
        now,
        decision=decision,
        words=words.strip(),
        declared_id="",
        finding_id=finding_id,
        decided_by="" if decision == "open" and now.decided_by != PROGRAM else desk.person,
        decided_at=utc_now(),
    )
    with desk.store.write(new_id(), desk.person) as work:
        return work.put(decided)

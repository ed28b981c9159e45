"""What is in doubt, sorted: the few places that look like damage first, the rest told together by photo and cause.

A place goes with its likes only while nobody has decided on it; a group is settled with one stated reason, which every
place of it keeps, so that nothing is dropped and everything is counted.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np

from condition.errors import Refused
from condition.flow.desk import Desk, new_id, utc_now
from condition.flow.return_changes import PROGRAM, surface_of
from condition.flow.return_check import pairs_of
from condition.flow.return_shapes import is_compact, sides_of
from condition.records.photo import Photo
from condition.records.return_check import ReturnChange, ReturnCheck, ReturnPair
from condition.records.return_sheet import Cause, DoubtGroup

CAUSES: dict[str, Cause] = {
    "reflection": "light",
    "shadow": "light",
    "slight": "light",
    "faint": "light",
    "light": "light",
    "parallax": "raised",
    "unsettled": "raised",
    "thin": "raised",
    "edge": "raised",
    "border": "border",
    "dark": "dark",
}
"""What each reason for doubt comes from."""
LIKE_DAMAGE = ("reflection", "shadow", "parallax", "unsettled")
"""Reasons that a real change is taken for when it lies on gloss, on metal or beside a raised part."""
CLEAR_SD, CLEAR_DELTA_E = 8.0, 6.0
"""A difference nobody overlooks: standard deviations of the pair's noise, and CIEDE2000."""
LEAST_PX, LEAST_ROUND, LEAST_SOLID = 8.0, 0.4, 0.6
"""A dent, a chip, a screw is several pixels wide, about as long as wide, and in one piece: longer side, shorter over
longer, share of its convex hull."""
APART = 0.25
"""Of its own size: nearer than that to other differences it belongs to what differs there all over."""


def is_in_doubt(change: ReturnChange) -> bool:
    """Whether a change is open, doubtful, at no finding, and told for the first time."""
    return change.decision == "open" and bool(change.reason) and not change.touches and not change.same_as


def doubt_sorted(
    changes: Sequence[ReturnChange], pairs: Iterable[ReturnPair], photos: dict[str, Photo]
) -> tuple[tuple[ReturnChange, ...], tuple[DoubtGroup, ...]]:
    """Return the doubtful places that look like damage, the surest first, and all others by pair and cause.

    photos : by id, those of the pairs among them
    """
    known = {pair.id: pair for pair in pairs}
    boxes = {one.id: _box(one) for one in changes}
    here: dict[str, list[ReturnChange]] = {}
    for one in changes:
        here.setdefault(one.pair_id, []).append(one)
    doubtful = sorted(filter(is_in_doubt, changes), key=lambda one: -one.sureness)
    first = tuple(one for one in doubtful if _looks_like_damage(one, here[one.pair_id], boxes))
    told = {one.id for one in first}
    grouped: dict[tuple[str, Cause], list[ReturnChange]] = {}
    for one in doubtful:
        if one.id not in told:
            grouped.setdefault((one.pair_id, CAUSES.get(one.reason, "light")), []).append(one)
    ranks = {pair_id: k for k, pair_id in enumerate(known)}
    groups = (_group(known[pair_id], cause, members, photos) for (pair_id, cause), members in grouped.items())
    return first, tuple(sorted(groups, key=lambda one: (ranks[one.pair_id], -len(one.change_ids))))


def doubt_of(
    desk: Desk, check: ReturnCheck, changes: Sequence[ReturnChange]
) -> tuple[tuple[ReturnChange, ...], tuple[DoubtGroup, ...]]:
    """Return :func:`doubt_sorted` of a check's changes."""
    photos = {photo.id: photo for photo in desk.store.find(Photo, job_id=check.job_id)}
    return doubt_sorted(changes, pairs_of(desk, check), photos)


def settle_together(desk: Desk, changes: Sequence[ReturnChange], words: str) -> tuple[str, ...]:
    """Put open changes aside with one reason, in one go, with what other pairs show of the same places.

    Returns
    -------
    The ids of all that was put aside, for :func:`open_together`.

    Raises
    ------
    Refused
        ``return.no_words``: nothing was said.
    """
    if not words.strip():
        raise Refused("return.no_words")
    if not changes:
        return ()
    wanted = {one.id for one in changes}
    with desk.store.write(new_id(), desk.person) as work:
        found = work.find(ReturnChange, check_id=changes[0].check_id)
        settled = [one for one in found if one.decision == "open" and {one.id, one.same_as} & wanted]
        for one in settled:
            work.put(
                replace(
                    one, decision="dismissed", words=words.strip(), declared_id="", decided_by=desk.person,
                    decided_at=utc_now(),
                )
            )  # fmt: skip
    return tuple(one.id for one in settled)


def open_together(desk: Desk, ids: Sequence[str]) -> None:
    """Open again what was put aside together; what was decided otherwise since stays."""
    with desk.store.write(new_id(), desk.person) as work:
        for one in work.find(ReturnChange, id=list(ids)):
            if one.decision == "dismissed" and one.decided_by != PROGRAM:
                work.put(replace(one, decision="open", words="", decided_by="", decided_at=""))


def _looks_like_damage(
    change: ReturnChange, others: list[ReturnChange], boxes: dict[str, tuple[float, float, float, float]]
) -> bool:
    if change.reason not in LIKE_DAMAGE or change.sureness < CLEAR_SD or change.delta_e < CLEAR_DELTA_E:
        return False
    area = surface_of(change.ring_before_px)
    if area.is_empty:
        return False
    _, longer = sides_of(area)
    if longer < LEAST_PX or not is_compact(area, LEAST_ROUND, LEAST_SOLID):
        return False
    own = boxes[change.id]
    return all(_gap(own, boxes[one.id]) > APART * longer for one in others if one.id != change.id)


def _box(change: ReturnChange) -> tuple[float, float, float, float]:
    xs, ys = zip(*change.ring_before_px.points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def _gap(one: tuple[float, float, float, float], two: tuple[float, float, float, float]) -> float:
    across = max(0.0, one[0] - two[2], two[0] - one[2])
    down = max(0.0, one[1] - two[3], two[1] - one[3])
    return float(np.hypot(across, down))


def _group(pair: ReturnPair, cause: Cause, members: list[ReturnChange], photos: dict[str, Photo]) -> DoubtGroup:
    from shapely.geometry import Polygon

    photo = photos[pair.before_id]
    compared_px = max(1.0, photo.width * photo.height * pair.share)
    percent = 100 * sum(Polygon(one.ring_before_px.points).area for one in members) / compared_px
    sizes = [one.area for one in members if one.area is not None]
    area_mm2 = sum(one.value for one in sizes) if len(sizes) == len(members) else None
    return DoubtGroup(pair.id, cause, tuple(one.id for one in members), min(100.0, percent), area_mm2)

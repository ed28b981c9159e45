"""What a worker does for a return check: which photos belong together, and what changed on one pair.

Paths and records go in, records come out (see :mod:`condition.flow.pool`).
"""

from __future__ import annotations

from dataclasses import dataclass, fields, is_dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from condition.errors import Refused
from condition.records.measurement import Measurement
from condition.records.plane import PhotoPlane, SizeCard
from condition.records.return_check import PlaceFound
from condition.records.shapes import Circle, Line, Ring, Shape
from condition.records.task import Told

if TYPE_CHECKING:
    from condition.flow.comparing import Compared, PlaceSeen
    from condition.imaging.overlay import Overlay

TONE_SIDE_PX = 800
FEWEST_LINKED = 40
"""Features that carry the link of two photos of one face."""
HOLES = ("screw hole", "enlarged hole", "filled hole", "added rout")

Link = tuple[int, int, tuple[float, ...]]


@dataclass(frozen=True, slots=True)
class MarkAsked:
    """A finding's mark on the earlier photo, to be judged on the later one."""

    mark_id: str
    finding_id: str
    kind: str
    shape_px: Shape


@dataclass(frozen=True, slots=True)
class PairAsked:
    """before, after, again : paths of the originals; the planes are those of the first two
    outline_px, left_aside, marks : in upright pixels of the earlier photo
    cards : the size cards of before, after and again as intake read them; None has them looked for"""

    before: str
    after: str
    again: str | None = None
    focal_35mm: float | None = None
    plane_before: PhotoPlane | None = None
    plane_after: PhotoPlane | None = None
    outline_px: Ring | None = None
    left_aside: tuple[Ring, ...] = ()
    marks: tuple[MarkAsked, ...] = ()
    cards: tuple[tuple[SizeCard, ...] | None, ...] = (None, None, None)


@dataclass(frozen=True, slots=True)
class ChangeFound:
    """As :class:`condition.flow.comparing.ChangeSeen`; lighter : how much lighter it became beside what is round it."""

    ring_before_px: Ring
    ring_after_px: Ring
    delta_e: float
    sureness: float
    reason: str
    area: Measurement | None
    lighter: float


@dataclass(frozen=True, slots=True)
class PairFound:
    """See :class:`condition.records.return_check.ReturnPair`."""

    homography: tuple[float, ...]
    tone: tuple[tuple[float, float], ...]
    residual_px: float
    overlap: float
    share: float
    advice: tuple[Told, ...]
    places: tuple[PlaceFound, ...]
    changes: tuple[ChangeFound, ...]


def likenesses(before: tuple[str, ...], after: tuple[str, ...]) -> tuple[tuple[int, ...], ...]:
    """Count the features that agree between each later photo (rows) and each earlier one (columns)."""
    from condition.imaging.matching import features_of, groups_of

    known = []
    for path in before:
        rgb = _decoded(path)
        known.append((features_of(rgb), rgb.shape[1], rgb.shape[0]))
    rows = []
    for path in after:
        features = features_of(_decoded(path))
        found = [groups_of(one, features, width, height) for one, width, height in known]
        rows.append(tuple(max((len(group.before) for group in groups), default=0) for groups in found))
    return tuple(rows)


def linked(
    paths: tuple[str, ...], pairs: tuple[tuple[int, int], ...]
) -> tuple[tuple[int, int, tuple[float, ...]], ...]:
    """Lay photos of one face over each other: (index, index, homography row by row) for each pair that agrees."""
    from condition.imaging.matching import features_of, groups_of

    known = {}
    for index in {index for pair in pairs for index in pair}:
        rgb = _decoded(paths[index])
        known[index] = (features_of(rgb), rgb.shape[1], rgb.shape[0])
    found = []
    for i, j in pairs:
        features, width, height = known[i]
        groups = groups_of(features, known[j][0], width, height)
        best = max(groups, key=lambda group: len(group.before), default=None)
        if best is not None and len(best.before) >= FEWEST_LINKED:
            found.append((i, j, tuple(float(value) for value in best.homography.ravel())))
    return tuple(found)


def look_at(asked: PairAsked) -> PairFound:
    """Compare one pair and look at every mark on it.

    Raises
    ------
    Refused
        The two photos do not go together (see :mod:`condition.flow.comparing`).
    """
    from condition.flow.comparing import compare_photos, settle_by_second

    before, after = _decoded(asked.before), _decoded(asked.after)
    given = {
        "focal_35mm": asked.focal_35mm,
        "plane": asked.plane_before,
        "outline_px": asked.outline_px,
        "left_aside": asked.left_aside,
        "places": tuple(mark.shape_px for mark in asked.marks),
    }
    if asked.again is None:
        seen = compare_photos(before, after, cards_seen=asked.cards[:2], **given)
    else:
        seen = settle_by_second(before, after, _decoded(asked.again), cards_seen=asked.cards, **given)
    overlay = seen.registration.overlay
    homography = tuple(float(value) for value in np.ravel(seen.registration.homography))
    tone = _tone(before, after, overlay)
    residual_px = float(seen.registration.local_px)
    found = PairFound(
        homography,
        tone,
        residual_px,
        float(seen.registration.overlap),
        float(seen.share),
        tuple(seen.advice),
        tuple(
            _place(mark, place, before, after, overlay, asked.plane_after)
            for mark, place in zip(asked.marks, seen.places, strict=True)
        ),
        tuple(_settled_by_hue(one, before, after, homography, tone, residual_px)
              for one in _changes(seen, before, after)),
    )  # fmt: skip
    return _plain(found)


def _plain(value: Any) -> Any:
    """The same value with numpy's numbers made Python's own: a worker answers nothing else."""
    if isinstance(value, np.generic):
        return value.item()
    if isinstance(value, tuple):
        return tuple(map(_plain, value))
    if is_dataclass(value):
        return type(value)(**{field.name: _plain(getattr(value, field.name)) for field in fields(value)})
    return value


def _decoded(path: str) -> np.ndarray:
    from condition.imaging.decode import decode

    return decode(Path(path).read_bytes(), name=Path(path).name).rgb


def _tone(before: np.ndarray, after: np.ndarray, overlay: Overlay) -> tuple[tuple[float, float], ...]:
    from condition.imaging.matching import reduced
    from condition.imaging.overlay import laid_over
    from condition.imaging.tone import fitted_tone

    one, factor_before = reduced(before, TONE_SIDE_PX)
    other, factor_after = reduced(after, TONE_SIDE_PX)
    small = overlay.at(factor_before, factor_after)
    laid, seen = laid_over(other, small)
    height, width = min(one.shape[0], laid.shape[0]), min(one.shape[1], laid.shape[1])
    tone = fitted_tone(one[:height, :width], laid[:height, :width], seen[:height, :width], straight=True)
    return tuple((float(slope), float(offset)) for slope, offset in zip(tone.slopes, tone.offsets, strict=True))


def _changes(seen: Compared, before: np.ndarray, after: np.ndarray) -> tuple[ChangeFound, ...]:
    from condition.flow.return_depth import area_depth

    found = []
    for one in (*seen.changes, *seen.doubtful):
        was = area_depth(before, np.array(one.ring_before_px.points), 1.0)
        now = area_depth(after, np.array(one.ring_after_px.points), 1.0)
        lighter = was - now if was is not None and now is not None else 0.0
        found.append(
            ChangeFound(one.ring_before_px, one.ring_after_px, one.delta_e, one.sureness, one.reason, one.area, lighter)
        )
    return tuple(found)


def _settled_by_hue(
    change: ChangeFound,
    before: np.ndarray,
    after: np.ndarray,
    homography: tuple[float, ...],
    tone: tuple[tuple[float, float], ...],
    residual_px: float,
) -> ChangeFound:
    """What is put down to light, but is a compact thing of another hue, is in no doubt."""
    from condition.flow.return_hue import LEAST_SD, OF_LIGHT, is_another_hue

    if change.reason not in OF_LIGHT or change.sureness < LEAST_SD:
        return change
    if is_another_hue(before, after, change.ring_before_px, homography, tone, residual_px):
        return replace(change, reason="")
    return change


def _place(
    mark: MarkAsked,
    place: PlaceSeen,
    before: np.ndarray,
    after: np.ndarray,
    overlay: Overlay,
    plane_after: PhotoPlane | None,
) -> PlaceFound:
    from condition.flow.return_depth import area_depth, line_depths, open_share, outline_points

    depth_before = depth_after = share = size = None
    if place.seen:
        points = outline_points(mark.shape_px)
        there = overlay.to_after(points)
        if isinstance(mark.shape_px, Line):
            was = line_depths(before, points, 1.0)
            now = line_depths(after, there, max(overlay.scale(), 0.5))
            depth_before, depth_after, share = float(np.median(was)), float(np.median(now)), open_share(was, now)
        else:
            depth_before, depth_after = area_depth(before, points), area_depth(after, there)
        if isinstance(mark.shape_px, Circle) and mark.kind in HOLES:
            size = _hole_there(after, there, plane_after)
    return PlaceFound(
        mark.mark_id,
        mark.finding_id,
        place.ring_before_px,
        place.ring_after_px,
        place.unseen,
        place.changed,
        place.reason,
        place.delta_e,
        place.score,
        place.share,
        depth_before,
        depth_after,
        share,
        size,
    )


def _hole_there(after: np.ndarray, there: np.ndarray, plane: PhotoPlane | None) -> Measurement | None:
    """The round hole that the later photo shows where one was marked, measured anew."""
    from condition.flow.measuring import measure_mark
    from condition.imaging.holes import find_holes

    if plane is None:
        return None
    middle, radius = there.mean(0), float(np.hypot(*(there - there.mean(0)).T).mean())
    half = 1.6 * radius + 6
    try:
        found = find_holes(after, (middle[0] - half, middle[1] - half, 2 * half, 2 * half))
        near = [hole for hole in found if hole.sure and np.hypot(hole.x - middle[0], hole.y - middle[1]) < radius]
        if not near:
            return None
        hole = near[0]
        circle = Circle(float(hole.x), float(hole.y), float(hole.diameter_px) / 2)
        measured = measure_mark("screw hole", circle, plane, "fitted")
    except Refused:
        return None
    return next((one for one in measured if one.quantity == "diameter"), None)

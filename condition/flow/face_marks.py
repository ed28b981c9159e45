"""Every mark where it lies on its face, from the base photo and from all photos that are placed on it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from condition.flow.desk import Desk
from condition.flow.faces import FaceFrame, ToFace, face_frame, from_base, place_shape
from condition.flow.gathered import Gathered
from condition.flow.placing import OnFace, laid, onto_face
from condition.flow.seen_again import seen_again
from condition.records.finding import Finding
from condition.records.photo import Photo
from condition.records.placing import PlacedByHand
from condition.records.sheet import MeasuredMark, ViewEntry


@dataclass(frozen=True, slots=True)
class Face:
    """One face with its frame and the way onto it from each photo that is placed; no frame without an outline."""

    entry: ViewEntry
    frame: FaceFrame | None = None
    base: Photo | None = None
    ways: dict[str, ToFace] | None = None
    """By photo id, the base photo first."""


def faces_of(desk: Desk, known: Gathered) -> tuple[Face, ...]:
    """Return the job's faces in the order they were made; asks the store once more, for what was said by hand."""
    said = desk.store.find(PlacedByHand, photo_id=list(known.photos)) if known.photos else ()
    placings = laid(desk, known.photos.values(), known.views.values(), {one.photo_id: one for one in said})
    return tuple(_face(ViewEntry(view), known, placings) for view in known.views.values())


def _face(entry: ViewEntry, known: Gathered, placings: dict[str, OnFace]) -> Face:
    view = entry.view
    base = known.photos.get(view.base_photo_id or "")
    outline = known.outline_on(view.base_photo_id)
    if base is None or outline is None or base.plane is None:
        return Face(entry, base=base)
    frame = face_frame(outline.shape_px, base.plane, view.neck_towards)
    ways = {base.id: from_base(base.plane, frame)}
    placed = [one for one in placings.values() if one.base.id == base.id and one.sure]
    ways.update({one.photo.id: onto_face(one, frame) for one in placed})
    marked = {photo_id for photo_id, marks in known.by_photo.items() if any(mark.finding_id for mark in marks)}
    area = next((m for m in outline.measurements if m.quantity == "area"), None)
    entry = ViewEntry(
        view,
        place_shape(outline.shape_px, ways[base.id]),
        area,
        tuple((one.photo, one.placing.residual_mm) for one in placed if one.photo.id in marked),
    )
    return Face(entry, frame, base, ways)


def placed_findings(known: Gathered, faces: tuple[Face, ...]) -> Iterator[tuple[Finding, tuple[MeasuredMark, ...]]]:
    """Yield each finding with its marks, those of base photos first; what was marked before is told as seen again."""
    ways = {photo_id: (face, way) for face in faces for photo_id, way in (face.ways or {}).items()}
    order = {photo_id: k for k, photo_id in enumerate(known.photos)}
    bases = {face.base.id for face in faces if face.base}
    for finding in known.findings:
        marks = sorted(known.marks_of(finding), key=lambda m: (m.photo_id not in bases, order.get(m.photo_id, 0)))
        placed: list[MeasuredMark] = []
        for mark in marks:
            face, way = ways.get(mark.photo_id, (None, None))
            if way is None:
                placed.append(MeasuredMark(mark))
                continue
            one = MeasuredMark(mark, place_shape(mark.shape_px, way), face.entry.view.id)
            earlier = [other.shape_mm for other in placed if other.view_id == one.view_id and not other.again
                       and other.mark.photo_id != mark.photo_id]  # fmt: skip
            placed.append(replace(one, again=seen_again(one.shape_mm, earlier)))
        yield finding, tuple(placed)

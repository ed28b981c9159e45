"""Pictures in other light over the one that is looked at, and the marks of the face's other photos in it."""

from __future__ import annotations

import hashlib
import threading
from concurrent.futures import Future
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from condition.errors import Refused
from condition.flow.desk import Desk
from condition.flow.face_marks import placed_findings
from condition.flow.faces import place_shape
from condition.flow.gathered import Gathered, gather
from condition.flow.layer_files import layer_px, write_layer
from condition.flow.placing import OnFace, placings_of
from condition.flow.pool import shared
from condition.records.photo import Photo
from condition.records.shapes import Pair, shape_to_dict

LEAST_SHARE = 0.1
"""Of the shown photo that a picture must cover to be offered over it."""
METHOD = "1"


@dataclass(frozen=True, slots=True)
class Layer:
    """A picture that can lie over the shown one; ``rim_px`` is its border there, which may reach outside.

    version : another one for another placing
    """

    photo: Photo
    rim_px: tuple[Pair, ...]
    version: str


def layers_of(desk: Desk, photo: Photo, placings: dict[str, OnFace] | None = None) -> tuple[Layer, ...]:
    """Return the pictures of the same face, taken in other light, that are placed and cover enough of a photo."""
    placings = placings_of(desk, photo.job_id) if placings is None else placings
    found = []
    for other in _same_face(photo, placings):
        if other.light != photo.light:
            rim = _rim(photo, other, placings)
            if _covered(rim, photo) >= LEAST_SHARE:
                rim_px = tuple((float(x), float(y)) for x, y in rim)
                found.append(Layer(other, rim_px, _key(photo, other, placings)[:16]))
    return tuple(sorted(found, key=lambda layer: layer.photo.sheet_order))


def _same_face(photo: Photo, placings: dict[str, OnFace]) -> list[Photo]:
    """The photos that lie with this one on one base photo, the base included; none while this one is not placed."""
    own = placings.get(photo.id)
    if own is not None and not own.sure:
        return []
    base_id = own.base.id if own else photo.id
    others = [
        one.photo for one in placings.values() if one.base.id == base_id and one.sure and one.photo.id != photo.id
    ]
    return [*([own.base] if own else []), *others]


def _rim(photo: Photo, other: Photo, placings: dict[str, OnFace]) -> np.ndarray:
    along = np.linspace(0, 1, 9)[:-1]
    w, h = other.width, other.height
    sides = [np.c_[along * w, 0 * along], np.c_[0 * along + w, along * h], np.c_[w - along * w, 0 * along + h],
             np.c_[0 * along, h - along * h]]  # fmt: skip
    return layer_px(np.vstack(sides), placings.get(other.id), placings.get(photo.id))


def _covered(rim: np.ndarray, photo: Photo) -> float:
    from shapely.geometry import Polygon, box

    if not np.isfinite(rim).all():
        return 0.0
    frame = box(0, 0, photo.width, photo.height)
    return Polygon(rim).buffer(0).intersection(frame).area / frame.area


# --- the picture laid over, as tiles in the cache


_coming: dict[str, Future] = {}
_lock = threading.Lock()


def layer_tile(desk: Desk, photo_id: str, layer_id: str, level: int, col: int, row: int) -> Path:
    """Return the file of one tile of a picture as it lies over a photo; made in a worker when it is first asked for.

    Raises
    ------
    Refused
        ``face.no_layer``: the two do not lie on one face, or not yet.
    """
    photo = desk.store.get(Photo, photo_id)
    placings = placings_of(desk, photo.job_id)
    other = next((one for one in _same_face(photo, placings) if one.id == layer_id), None)
    if other is None:
        raise Refused("face.no_layer")
    folder = desk.cache / "layers" / _key(photo, other, placings)
    if not folder.is_dir():
        _make(desk, photo, other, placings, folder)
    return folder / str(level) / f"{col}_{row}.jpg"


def _key(photo: Photo, other: Photo, placings: dict[str, OnFace]) -> str:
    told = [METHOD, photo.sha256, other.sha256]
    for one in (photo, other):
        on_face = placings.get(one.id)
        told += [repr(on_face.placing), repr(on_face.photo.plane), repr(on_face.base.plane)] if on_face else [""]
    return hashlib.sha256("|".join(told).encode()).hexdigest()


def _make(desk: Desk, photo: Photo, other: Photo, placings: dict[str, OnFace], folder: Path) -> None:
    """Have the tiles made once, however many ask for them at the same time."""
    with _lock:
        future = _coming.get(str(folder))
        if future is None:
            shown = placings.get(photo.id) or (photo.width, photo.height)
            path = str(desk.store.vault.path(other.sha256))
            future = shared().submit(write_layer, path, other.file_name, shown, placings.get(other.id), str(folder))
            _coming[str(folder)] = future
    try:
        future.result()
    finally:
        with _lock:
            _coming.pop(str(folder), None)


# --- the marks of the face's other photos


def marks_elsewhere(desk: Desk, photo: Photo, placings: dict[str, OnFace], known: Gathered | None = None) -> list[dict]:
    """Return the marks of the same face's other photos where they lie in this one, for the canvas to draw thin:
    ``{"id", "finding_id", "number", "kind", "shape", "file"}``; a finding marked on this photo itself is left out."""
    known = known or gather(desk, photo.job_id)
    files = {one.id: one for one in _same_face(photo, placings)}
    found = []
    for finding, marked in placed_findings(known, ()):
        if any(one.mark.photo_id == photo.id for one in marked):
            continue
        for mark in (one.mark for one in marked if one.mark.photo_id in files):
            shape = place_shape(
                mark.shape_px,
                lambda px, at=mark.photo_id: layer_px(px, placings.get(at), placings.get(photo.id)),
            )
            found.append({"id": mark.id, "finding_id": finding.id, "number": finding.number, "kind": finding.kind,
                          "shape": shape_to_dict(shape), "file": files[mark.photo_id].file_name})  # fmt: skip
    return found

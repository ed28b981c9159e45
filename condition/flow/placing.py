"""Photos of one face laid on its base photo: found once in a worker, kept in the cache, confirmed or placed by hand."""

from __future__ import annotations

import hashlib
import json
import os
import queue
import tempfile
import threading
from collections.abc import Callable, Iterable
from concurrent.futures import Future
from contextlib import suppress
from dataclasses import asdict, dataclass, replace
from pathlib import Path

import numpy as np

from condition.errors import ConditionError
from condition.flow.desk import Desk, new_id
from condition.flow.faces import FaceFrame
from condition.flow.marked import OUTLINE
from condition.flow.placed_files import place_files
from condition.flow.pool import WorkerFailed, shared
from condition.records.mark import Mark
from condition.records.photo import Photo
from condition.records.placing import PlacedByHand, Placing
from condition.records.shapes import Pair, Ring
from condition.records.view import View

SECONDS_A_PAIR = 90.0
FOLDER = "placings"


@dataclass(frozen=True, slots=True)
class OnFace:
    """A photo and the base photo of its face, and how the one lies on the other.

    placing : None while it is being found, or was never asked for
    sure : marks of the photo are shown on the face
    """

    photo: Photo
    base: Photo
    placing: Placing | None = None
    by_hand: PlacedByHand | None = None

    @property
    def sure(self) -> bool:
        if self.placing is None or not self.placing.matrix or (self.by_hand and self.by_hand.left_off):
            return False
        return not self.placing.refusal or bool(
            self.by_hand and self.by_hand.confirmed == key_of(self.photo, self.base)
        )


def base_of(view: View, photos: Iterable[Photo]) -> Photo | None:
    """Return the photo that bears the face's outline, else its first in daylight, else its first."""
    own = [photo for photo in photos if photo.view_id == view.id]
    outlined = next((photo for photo in own if photo.id == view.base_photo_id), None)
    return outlined or next((photo for photo in own if photo.light == "daylight"), own[0] if own else None)


def placings_of(desk: Desk, job_id: str) -> dict[str, OnFace]:
    """Return how each photo of a job that has a face lies on the face's base photo, by photo; base photos are left out.

    Asks the store three times and the cache once a photo; nothing is computed.
    """
    photos = desk.store.find(Photo, job_id=job_id)
    views = desk.store.find(View, job_id=job_id)
    by_hand = {one.photo_id: one for one in desk.store.find(PlacedByHand, job_id=job_id)}
    return laid(desk, photos, views, by_hand)


def laid(
    desk: Desk, photos: Iterable[Photo], views: Iterable[View], by_hand: dict[str, PlacedByHand]
) -> dict[str, OnFace]:
    """As :func:`placings_of`, from records at hand."""
    found = {}
    photos = tuple(photos)
    for view in views:
        base = base_of(view, photos)
        for photo in photos:
            if photo.view_id == view.id and photo.id != base.id:
                found[photo.id] = _on_face(desk, photo, base, by_hand.get(photo.id))
    return found


def _on_face(desk: Desk, photo: Photo, base: Photo, said: PlacedByHand | None) -> OnFace:
    said = said if said and said.base_photo_id == base.id else None
    if said and said.pairs:
        from condition.imaging.hand_placing import placed_by_points

        sizes = ((photo.width, photo.height), (base.width, base.height))
        return OnFace(photo, base, placed_by_points(said.pairs, *sizes, photo.plane, base.plane), said)
    return OnFace(photo, base, _kept(desk, photo, base), said)


def key_of(photo: Photo, base: Photo) -> str:
    """Return what a found placing depends on, as one hash: both pictures, both planes, the light and the method."""
    from condition.imaging.placing import METHOD

    planes = [[(p.name, p.value) for p in one.plane.parameters] if one.plane else None for one in (photo, base)]
    told = [METHOD, photo.sha256, base.sha256, planes, photo.light == base.light]
    return hashlib.sha256(json.dumps(told).encode()).hexdigest()


# --- finding them


_waiting: queue.SimpleQueue[tuple[str, Desk, Photo, Photo, Ring | None]] = queue.SimpleQueue()
_asked: dict[str, Future] = {}
_lock = threading.Lock()
_hand: threading.Thread | None = None


def begin(desk: Desk, job_id: str) -> bool:
    """Have the placings found that are not there yet, one after the other, beside the other work; may be called often.

    Returns
    -------
    Whether something is still being found.
    """
    asked = [_ask(desk, one) for one in _wanted(desk, placings_of(desk, job_id))]
    return any(not future.done() for future in asked)


def complete(desk: Desk, job_id: str) -> None:
    """Wait until every placing of a job is found, for a paper that shows them."""
    for future in [_ask(desk, one) for one in _wanted(desk, placings_of(desk, job_id))]:
        with suppress(ConditionError, WorkerFailed, RuntimeError, OSError):
            future.result(SECONDS_A_PAIR * 2)


def _wanted(desk: Desk, placings: dict[str, OnFace]) -> list[OnFace]:
    """Those that nobody has found or placed; a return photo only when something is marked on it."""
    missing = [one for one in placings.values() if one.placing is None]
    returned = [one.photo.id for one in missing if one.photo.occasion == "returned"]
    marked = {mark.photo_id for mark in desk.store.find(Mark, photo_id=returned, role="finding")} if returned else set()
    return [one for one in missing if one.photo.occasion != "returned" or one.photo.id in marked]


def _ask(desk: Desk, one: OnFace) -> Future:
    global _hand
    key = key_of(one.photo, one.base)
    with _lock:
        name = f"{desk.store.folder}|{key}"
        if name in _asked:
            return _asked[name]
        _asked[name] = Future()
        outlines = desk.store.find(Mark, photo_id=one.base.id, role=OUTLINE)
        _waiting.put((name, desk, one.photo, one.base, outlines[0].shape_px if outlines else None))
        if _hand is None or not _hand.is_alive():
            _hand = threading.Thread(target=_work_off, name="placing photos", daemon=True)
            _hand.start()
        return _asked[name]


def _work_off() -> None:
    """Take one pair at a time to the pool, so that photos that come in meanwhile find a worker free."""
    while True:
        name, desk, photo, base, outline = _waiting.get()
        try:
            _keep(desk, photo, base, _found(desk, photo, base, outline))
            with _lock:
                _asked.pop(name).set_result(None)
        except BaseException as error:
            _asked[name].set_exception(error)


def _found(desk: Desk, photo: Photo, base: Photo, outline: Ring | None) -> Placing:
    paths = (str(desk.store.vault.path(one.sha256)) for one in (photo, base))
    try:
        return shared().submit(place_files, *paths, photo, base, outline, seconds=SECONDS_A_PAIR).result()
    except (ConditionError, WorkerFailed):
        return Placing("picture", refusal="face.unsure")


def _path(desk: Desk, photo: Photo, base: Photo) -> Path:
    return desk.cache / FOLDER / f"{key_of(photo, base)}.json"


def _kept(desk: Desk, photo: Photo, base: Photo) -> Placing | None:
    try:
        values = json.loads(_path(desk, photo, base).read_bytes())
        return Placing(**{key: tuple(value) if isinstance(value, list) else value for key, value in values.items()})
    except (OSError, ValueError, TypeError):
        return None


def _keep(desk: Desk, photo: Photo, base: Photo, placing: Placing) -> None:
    path = _path(desk, photo, base)
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, part = tempfile.mkstemp(dir=path.parent, suffix=".part")
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        json.dump(asdict(placing), file)
    os.replace(part, path)


# --- by hand


def place_by_hand(desk: Desk, one: OnFace, pairs: tuple[tuple[Pair, Pair], ...]) -> OnFace:
    """Keep the points a person found on both photos; none takes them back, and what was found counts again."""
    return _say(desk, one, pairs=pairs, left_off=False)


def confirm(desk: Desk, one: OnFace) -> OnFace:
    """Keep that a doubtful placing was looked at and lies right."""
    return _say(desk, one, confirmed=key_of(one.photo, one.base), left_off=False)


def leave_off(desk: Desk, one: OnFace, *, off: bool = True) -> OnFace:
    """Keep that a photo is to stay off its face's map, or no longer."""
    return _say(desk, one, left_off=off)


def _say(desk: Desk, one: OnFace, **said: object) -> OnFace:
    with desk.store.write(new_id(), desk.person) as work:
        known = work.one(PlacedByHand, photo_id=one.photo.id)
        if known is None:
            known = PlacedByHand(new_id(), one.photo.job_id, one.photo.id, one.base.id)
        elif known.base_photo_id != one.base.id:
            known = replace(known, base_photo_id=one.base.id, pairs=(), confirmed="", left_off=False)
        kept = work.put(replace(known, **said))
    return _on_face(desk, one.photo, one.base, kept)


# --- going between the two photos


def to_base_px(one: OnFace, points_px: np.ndarray) -> np.ndarray:
    """Return where upright pixels (N, 2) of the photo lie in the base photo."""
    from condition.imaging.placing import base_px_of

    return base_px_of(one.placing, points_px, one.photo.plane, one.base.plane, (one.photo.width, one.photo.height))


def to_photo_px(one: OnFace, points_px: np.ndarray) -> np.ndarray:
    """Return where upright pixels (N, 2) of the base photo lie in the photo."""
    from condition.imaging.placing import photo_px_of

    return photo_px_of(one.placing, points_px, one.photo.plane, one.base.plane, (one.photo.width, one.photo.height))


def onto_face(one: OnFace, frame: FaceFrame) -> Callable[[np.ndarray], np.ndarray]:
    """Return the way from upright pixels (N, 2) of a placed photo to its face's millimetres; the base has a plane."""
    from condition.imaging.placing import base_mm_of

    size = (one.photo.width, one.photo.height)
    return lambda px: frame.place(base_mm_of(one.placing, px, one.photo.plane, one.base.plane, size))

"""Lenses learned from photos that show enough size cards, and remembered by what EXIF calls them."""

from __future__ import annotations

from dataclasses import dataclass, replace

from condition.flow.desk import Desk, new_id, utc_now
from condition.flow.scales import scale_again
from condition.imaging.lens_calibration import LEAST_CARDS, calibrate_lens
from condition.records.lens import Lens
from condition.records.photo import Photo


@dataclass(frozen=True, slots=True)
class Camera:
    """A camera and lens seen in the store, the photos that can teach its lens, and what was learned before."""

    camera: str
    lens: str
    photos: tuple[Photo, ...]
    learned: Lens | None


def cameras(desk: Desk) -> tuple[Camera, ...]:
    """Return every camera whose EXIF names it, with its photos of one size that show three cards or more."""
    groups: dict[tuple[str, str, tuple[int, int]], list[Photo]] = {}
    for photo in desk.store.find(Photo):
        if photo.camera and sum(not card.left_out for card in photo.cards) >= LEAST_CARDS:
            size = (max(photo.width, photo.height), min(photo.width, photo.height))
            groups.setdefault((photo.camera, photo.lens, size), []).append(photo)
    largest: dict[tuple[str, str], list[Photo]] = {}
    for (camera, lens, _), photos in groups.items():
        if len(photos) > len(largest.get((camera, lens), ())):
            largest[(camera, lens)] = photos
    return tuple(
        Camera(camera, lens, tuple(photos), desk.store.one(Lens, camera=camera, lens=lens))
        for (camera, lens), photos in largest.items()
    )


def learn_lens(desk: Desk, camera: Camera) -> Lens:
    """Learn a lens from its photos' cards and scale all photos of that camera and lens anew.

    Raises
    ------
    Refused
        Fewer than two photos with three usable cards.
    """
    first = camera.photos[0]
    found = calibrate_lens(
        [photo.cards for photo in camera.photos],
        first.width,
        first.height,
        first.focal_35mm,
        sizes_px=[(photo.width, photo.height) for photo in camera.photos],
    )
    before = camera.learned or Lens(new_id(), camera.camera, camera.lens, 0.0, 0.0, 0)
    learned = replace(before, k1=found.k1, k1_sd=found.sd, photo_count=found.photos, learned_at=utc_now())
    with desk.store.write(new_id(), desk.person) as work:
        learned = work.put(learned)
    _scale_all(desk, learned)
    return learned


def forget_lens(desk: Desk, learned: Lens) -> None:
    with desk.store.write(new_id(), desk.person) as work:
        work.remove(learned)
    _scale_all(desk, learned)


def _scale_all(desk: Desk, learned: Lens) -> None:
    for photo in desk.store.find(Photo, camera=learned.camera, lens=learned.lens):
        if photo.cards:
            scale_again(desk, photo.id)

"""A watched folder: what appears in it comes in once, when it is whole, and stays as it is."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image

from condition.errors import Refused
from condition.flow.photos import remove_photo
from condition.flow.watched import Watcher, leave_off, watch, watched
from condition.records.photo import Photo


def picture(seed: int) -> bytes:
    buffer = io.BytesIO()
    Image.fromarray(np.random.default_rng(seed).integers(0, 255, (90, 120, 3), np.uint8)).save(buffer, "JPEG")
    return buffer.getvalue()


@pytest.fixture
def folder(tmp_path):
    made = tmp_path / "card"
    made.mkdir()
    return made


def photos(desk, job) -> list[str]:
    return [photo.file_name for photo in desk.store.find(Photo, job_id=job.id)]


def test_a_picture_comes_in_once_it_is_whole(desk, job, folder):
    watch(desk, job, str(folder), occasion="returned")
    watcher = Watcher(desk)
    whole = picture(1)
    (folder / "a.jpg").write_bytes(whole[:500])
    watcher.look()
    (folder / "a.jpg").write_bytes(whole)
    watcher.look()
    assert photos(desk, job) == []
    watcher.look()
    assert photos(desk, job) == ["a.jpg"]
    watcher.look()
    assert photos(desk, job) == ["a.jpg"]
    assert (folder / "a.jpg").read_bytes() == whole
    assert desk.store.find(Photo, job_id=job.id)[0].occasion == "returned"


def test_what_is_no_picture_is_told_once_and_the_rest_comes_in(desk, job, folder):
    watch(desk, job, str(folder))
    (folder / "bad.jpg").write_bytes(b"not a picture")
    (folder / "good.jpg").write_bytes(picture(2))
    (folder / "notes.txt").write_text("left alone")
    (folder / ".hidden.jpg").write_bytes(picture(3))
    watcher = Watcher(desk)
    for _ in range(4):
        watcher.look()
    assert photos(desk, job) == ["good.jpg"]
    assert [taken.file_name for taken in watcher.told] == ["bad.jpg"]


def test_a_photo_taken_off_the_job_does_not_come_back_by_itself(desk, job, folder):
    watch(desk, job, str(folder))
    (folder / "a.jpg").write_bytes(picture(4))
    watcher = Watcher(desk)
    watcher.look()
    watcher.look()
    remove_photo(desk, desk.store.find(Photo, job_id=job.id)[0])
    for again in (watcher, Watcher(desk)):
        again.look()
        again.look()
    assert photos(desk, job) == []


def test_a_folder_that_is_off_or_gone_gives_nothing(desk, job, folder):
    (folder / "a.jpg").write_bytes(picture(5))
    leave_off(desk, watch(desk, job, str(folder)))
    watcher = Watcher(desk)
    watcher.look()
    watcher.look()
    assert photos(desk, job) == []
    watch(desk, job, str(folder))
    assert watched(desk, job).on
    (folder / "a.jpg").unlink()
    folder.rmdir()
    assert watcher.look() == []


def test_no_folder_and_the_stores_own_are_refused(desk, job, tmp_path):
    for path in ("", "  ", str(tmp_path / "nowhere")):
        with pytest.raises(Refused, match=r"watched\.no_folder"):
            watch(desk, job, path)
    with pytest.raises(Refused, match=r"watched\.own"):
        watch(desk, job, str(desk.store.folder / "photos"))

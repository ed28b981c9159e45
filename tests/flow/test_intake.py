"""Photos taken in: the good ones kept byte for byte, the bad ones told, nothing lost to a kill."""

from __future__ import annotations

import hashlib
import io
import time
from uuid import uuid4

import numpy as np
import pytest
from PIL import Image

from condition.flow import intake
from condition.flow.photos import arrange, remove_photo
from condition.flow.pictures import thumbnail_of, tile_file
from condition.records.photo import Photo
from condition.records.task import Task, TaskItem


def picture(seed: int, kind: str = "JPEG") -> bytes:
    rng = np.random.default_rng(seed)
    buffer = io.BytesIO()
    Image.fromarray(rng.integers(0, 255, (90, 120, 3), np.uint8)).save(buffer, kind)
    return buffer.getvalue()


def settled(desk, task: Task) -> Task:
    end = time.monotonic() + 120
    while time.monotonic() < end:
        task = desk.store.get(Task, task.id)
        if task.state != "running":
            return task
        time.sleep(0.1)
    raise AssertionError("the task did not end")


def test_a_bad_file_is_told_and_the_good_ones_come_in(desk, job):
    taken = intake.take_in(
        desk, job, [("a.jpg", picture(1)), ("b.jpg", b"not a picture"), ("c.png", picture(2, "PNG"))]
    )
    assert [one.photo is not None for one in taken] == [True, False, True]
    assert taken[1].error.code.startswith("photo.")
    assert len(desk.store.find(Photo, job_id=job.id)) == 2


def test_the_original_is_kept_byte_for_byte(desk, job):
    data = picture(3)
    (taken,) = intake.take_in(desk, job, [("a.jpg", data)])
    assert taken.photo.sha256 == hashlib.sha256(data).hexdigest()
    assert desk.store.vault.path(taken.photo.sha256).read_bytes() == data


def test_the_same_photo_twice_is_kept_once(desk, job):
    data = picture(4)
    first, second = intake.take_in(desk, job, [("a.jpg", data), ("again.jpg", data)])
    assert second.already_here
    assert second.photo.id == first.photo.id


def test_a_file_that_is_not_there_is_told(desk, job, tmp_path):
    (taken,) = intake.take_in(desk, job, [("gone.jpg", tmp_path / "gone.jpg")])
    assert taken.error.code == "photos.not_found"


def test_a_task_tells_of_each_file_when_it_is_done(desk, job):
    task = settled(desk, intake.begin_take_in(desk, job, [("a.jpg", picture(5)), ("b.jpg", b"")]))
    assert task.state == "done"
    assert task.items[0].photo_id
    assert task.items[1].told[0].startswith("photo.")
    assert not list((desk.store.folder / intake.ARRIVING).iterdir())


def test_a_killed_take_in_goes_on_where_it_was(desk, job):
    """The files lie in the store and the task says so; that is all a kill leaves behind."""
    folder = desk.store.folder / intake.ARRIVING
    folder.mkdir()
    (folder / "x.jpg").write_bytes(picture(6))
    item = TaskItem("x.jpg", f"{intake.ARRIVING}/x.jpg")
    with desk.store.write(str(uuid4()), "tester") as work:
        task = work.put(Task(str(uuid4()), job.id, items=(item,)))
    intake.resume(desk)
    assert settled(desk, task).items[0].photo_id
    assert len(desk.store.find(Photo, job_id=job.id)) == 1


def test_pictures_are_made_again_when_the_cache_is_gone(desk, job):
    import shutil

    (taken,) = intake.take_in(desk, job, [("a.jpg", picture(7))])
    shutil.rmtree(desk.cache)
    assert thumbnail_of(desk, taken.photo).is_file()
    assert tile_file(desk, taken.photo.id, 0, 0, 0).is_file()


def test_a_photo_can_be_taken_out_again_and_its_bytes_stay(desk, job):
    (taken,) = intake.take_in(desk, job, [("a.jpg", picture(8))])
    remove_photo(desk, taken.photo)
    assert not desk.store.find(Photo, job_id=job.id)
    assert desk.store.vault.path(taken.photo.sha256).exists()


def test_a_caption_is_kept_and_a_stale_one_refused(desk, job):
    from condition.store import Stale

    (taken,) = intake.take_in(desk, job, [("a.jpg", picture(9))])
    arrange(desk, taken.photo, caption="the front")
    with pytest.raises(Stale):
        arrange(desk, taken.photo, caption="another")

"""Stills from a video made of the demonstration photos: which frames come out, and when they were."""

from __future__ import annotations

import json
import signal
import struct
import subprocess
import sys
import time
from dataclasses import replace
from datetime import UTC, datetime
from uuid import uuid4

import cv2
import numpy as np
import pytest

from condition.__main__ import main
from condition.errors import Refused
from condition.flow.demo import FOLDER
from condition.flow.intake import ARRIVING, task_of
from condition.flow.photos import remove_photo
from condition.flow.stills import begin_stills, clock, moments, resume, take_stills, video_of
from condition.flow.tasks import keep, put_away, stop
from condition.imaging.video_file import begun_at, container_of
from condition.records.photo import Photo
from condition.records.task import StillsWanted, Task, TaskItem
from tests.browser import ROOT

RATE = 10
SIZE = (1200, 900)
WITH_CARDS = (1.3, 3.6)
"""Seconds at which the camera rests on the cards; all else is blurred, or shows none."""


@pytest.fixture(scope="module")
def video(tmp_path_factory):
    """Six seconds: the close-up, blurred except at two moments, then a wall without cards, sharp at one moment."""
    path = tmp_path_factory.mktemp("video") / "bench walk.mp4"
    close = cv2.resize(cv2.imread(str(FOLDER / "closeup_bridge.jpg")), SIZE, interpolation=cv2.INTER_AREA)
    rng = np.random.default_rng(2)
    wall = cv2.resize(rng.integers(60, 190, (60, 80, 3), np.uint8), SIZE, interpolation=cv2.INTER_NEAREST)
    writer = cv2.VideoWriter(str(path), cv2.VideoWriter_fourcc(*"mp4v"), RATE, SIZE)
    for number in range(6 * RATE):
        seconds = number / RATE
        scene, sharp = (close, seconds in WITH_CARDS) if seconds < 4.5 else (wall, seconds == 5.2)
        blur = 0.0 if sharp else 5.0
        writer.write(cv2.GaussianBlur(scene, (0, 0), blur) if blur else scene)
    writer.release()
    return path


def test_the_sharp_frames_that_show_cards_come_out_with_their_times(desk, job, video):
    taken = take_stills(desk, job, video.name, video, most=2)
    assert [round(one.seconds, 1) for one in taken] == list(WITH_CARDS)
    assert all(set(one.cards) == {1, 12, 21} for one in taken)
    first = desk.store.get(Photo, taken[0].photo.id)
    assert first.caption == "Still from bench walk.mp4, at 0:01.3"
    assert (first.width, first.height) == SIZE
    assert first.plane is not None


def test_a_chosen_moment_gives_the_sharpest_frame_near_it(desk, job, video):
    (still,) = take_stills(desk, job, video.name, video, moments_s=moments("0:05"))
    assert round(still.seconds, 1) == 5.2
    assert still.cards == ()


def test_the_same_video_again_keeps_the_photos_that_are_there(desk, job, video):
    first = take_stills(desk, job, video.name, video, most=2)
    again = take_stills(desk, job, video.name, video, most=2)
    assert [one.photo.id for one in again] == [one.photo.id for one in first]
    assert all(one.already_here for one in again)


@pytest.mark.parametrize(
    "content",
    [b"", b"no video at all", b"#EXTM3U\n#EXTINF:10,\n/etc/passwd\n", b"\x00\x00\x00\x18ftypisom" + b"\x00" * 400],
    ids=["empty", "text", "a playlist", "a head without a body"],
)
def test_what_is_no_video_is_refused_in_one_sentence(desk, job, tmp_path, content):
    path = tmp_path / "broken.mp4"
    path.write_bytes(content)
    with pytest.raises(Refused) as refused:
        take_stills(desk, job, path.name, path)
    assert refused.value.code == "stills.unreadable"
    assert not desk.store.find(Photo, job_id=job.id)


def test_a_moment_after_the_end_is_told(desk, job, video):
    with pytest.raises(Refused, match="no_frame"):
        take_stills(desk, job, video.name, video, moments_s=(99.0,))


def settled(desk, task: Task) -> Task:
    end = time.monotonic() + 120
    while time.monotonic() < end:
        task = desk.store.get(Task, task.id)
        if task.state != "running":
            return task
        time.sleep(0.05)
    raise AssertionError("the task did not end")


def arriving(desk) -> list:
    return sorted((desk.store.folder / ARRIVING).iterdir())


def photos(desk, job) -> list[tuple[str, str]]:
    return sorted((photo.file_name, photo.caption) for photo in desk.store.find(Photo, job_id=job.id))


BOTH = [
    ("bench walk 0m01.3s.jpg", "Still from bench walk.mp4, at 0:01.3"),
    ("bench walk 0m03.6s.jpg", "Still from bench walk.mp4, at 0:03.6"),
]


def test_a_video_as_a_task_gives_its_stills_and_leaves_no_file_behind(desk, job, video):
    with video.open("rb") as stream:
        task = begin_stills(desk, job, video.name, stream, most=2)
    task = settled(desk, task)
    assert task.state == "done"
    assert [item.still.cards for item in task.items[1:]] == [(1, 12, 21)] * 2
    assert photos(desk, job) == BOTH
    assert not arriving(desk)
    assert video_of(desk, job) == task
    assert task_of(desk, job) is None
    put_away(desk, task)
    assert video_of(desk, job) is None


def test_a_video_that_cannot_be_read_is_told_until_it_is_understood(desk, job):
    task = settled(desk, begin_stills(desk, job, "broken.mp4", b"no video at all"))
    assert task.video.told == ("stills.unreadable", (("file", "broken.mp4"),))
    assert video_of(desk, job) == task
    assert not arriving(desk)


def test_a_stopped_video_takes_nothing_in_and_leaves_no_file_behind(desk, job, video):
    task = begin_stills(desk, job, video.name, video.read_bytes())
    stop(task)
    assert settled(desk, task).state == "stopped"
    assert not photos(desk, job)
    assert not arriving(desk)


def test_a_wish_for_too_many_stills_is_refused_before_anything_is_kept(desk, job, video):
    with pytest.raises(Refused, match="how_many"):
        begin_stills(desk, job, video.name, video.read_bytes(), most=1000)
    assert not (desk.store.folder / ARRIVING).exists()


LOOK_AND_DIE = """
import os, pathlib, signal, sys, time
from condition.flow.desk import open_desk
from condition.flow.stills import begin_stills, share_looked_at, video_of
from condition.records.job import Job
desk = open_desk(sys.argv[1], "tester")
job = desk.store.get(Job, sys.argv[2])
video = pathlib.Path(sys.argv[3])
task = begin_stills(desk, job, video.name, video.read_bytes(), most=2)
while share_looked_at(desk, task) == 0.0:
    assert video_of(desk, job).state == "running"
    time.sleep(0.01)
os.kill(os.getpid(), signal.SIGKILL)
"""


def test_a_program_killed_while_it_looks_through_a_video_begins_it_anew(desk, job, video):
    command = [sys.executable, "-c", LOOK_AND_DIE, str(desk.store.folder), job.id, str(video)]
    killed = subprocess.run(command, cwd=ROOT, timeout=100)
    assert killed.returncode == -signal.SIGKILL
    assert not photos(desk, job)
    resume(desk)
    assert settled(desk, video_of(desk, job)).state == "done"
    assert photos(desk, job) == BOTH


def test_a_program_killed_while_it_takes_the_stills_in_takes_each_once(desk, job, video):
    """One still is a photo already, but the kill came before its item said so."""
    taken = settled(desk, begin_stills(desk, job, video.name, video.read_bytes(), most=2))
    folder = desk.store.folder / ARRIVING / taken.id / "before the kill"
    folder.mkdir(parents=True)
    items = [replace(taken.video, path=f"{ARRIVING}/video.mp4")]
    (desk.store.folder / ARRIVING / "video.mp4").write_bytes(video.read_bytes())
    for number, item in enumerate(taken.items[1:]):
        photo = desk.store.get(Photo, item.photo_id)
        path = folder / f"{number}.jpg"
        path.write_bytes(desk.store.vault.path(photo.sha256).read_bytes())
        items.append(replace(item, path=str(path.relative_to(desk.store.folder)), done=False, photo_id=None))
    remove_photo(desk, photo)
    keep(desk, replace(taken, state="running", items=tuple(items)))
    resume(desk)
    task = settled(desk, taken)
    assert [item.told[0] for item in task.items] == ["", "intake.already_here", ""]
    assert photos(desk, job) == BOTH


def test_a_video_that_went_missing_is_told(desk, job):
    item = TaskItem("walk.mp4", f"{ARRIVING}/gone.mp4", wanted=StillsWanted(2))
    task = keep(desk, Task(str(uuid4()), job.id, items=(item,)))
    resume(desk)
    assert settled(desk, task).video.told[0] == "intake.file_gone"


def test_times_are_read_as_people_write_them():
    assert moments("0:12, 1:04.5  75;1:00:00") == (12.0, 64.5, 75.0, 3600.0)
    assert moments("") == ()
    assert [clock(seconds) for seconds in (0, 12.34, 64.96, 599.99)] == ["0:00.0", "0:12.3", "1:05.0", "10:00.0"]
    with pytest.raises(Refused, match="bad_moment"):
        moments("later")


def boxes(seconds: int, version: int = 0) -> bytes:
    """A file head by ISO/IEC 14496-12: 4.2 for boxes (size, type), 8.2.2.2 for ``mvhd`` (creation_time first)."""
    fields = bytes([version, 0, 0, 0]) + struct.pack(">Q" if version else ">I", seconds) + bytes(96)
    mvhd = struct.pack(">I4s", 8 + len(fields), b"mvhd") + fields
    moov = struct.pack(">I4s", 8 + len(mvhd), b"moov") + mvhd
    ftyp = struct.pack(">I4s4sI", 16, b"ftyp", b"isom", 0)
    wide = struct.pack(">I4sQ", 1, b"mdat", 16 + 32) + bytes(32)
    return ftyp + wide + moov


@pytest.mark.parametrize("version", [0, 1])
def test_a_video_tells_when_it_was_begun_in_seconds_since_1904(tmp_path, version):
    """ISO/IEC 14496-12, 8.2.2.3: seconds since midnight, Jan. 1, 1904, in UTC."""
    when = datetime(2026, 11, 17, 9, 4, 31, tzinfo=UTC)
    seconds = int((when - datetime(1904, 1, 1, tzinfo=UTC)).total_seconds())
    path = tmp_path / "a.mp4"
    path.write_bytes(boxes(seconds, version))
    assert container_of(path) == "base media"
    assert begun_at(path) == when


@pytest.mark.parametrize("seconds", [0, 1000, 2**32 - 1])
def test_a_time_that_cannot_be_is_no_time(tmp_path, seconds):
    path = tmp_path / "a.mp4"
    path.write_bytes(boxes(seconds))
    found = begun_at(path)
    assert found is None or found.year >= 1995


def test_the_command_tells_each_still(tmp_path, video, capsys):
    store = str(tmp_path / "store")
    assert (
        main(["stills", str(video), "--job", "W-1", "--face", "front", "--most", "1", "--json", "--store", store]) == 0
    )
    told = json.loads(capsys.readouterr().out)
    assert sorted(told["cards"]) == [1, 12, 21]
    assert round(told["seconds"], 1) in WITH_CARDS
    assert main(["stills", str(tmp_path / "none.mp4"), "--job", "W-1", "--store", store]) == 2
    assert "is not there" in capsys.readouterr().err

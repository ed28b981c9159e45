"""Stills from a bench video: the frames worth keeping come into the job as photos, with their time in the video."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Sequence
from concurrent.futures import Future, wait
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import BinaryIO

from condition.errors import ConditionError, Refused
from condition.flow import tasks
from condition.flow.desk import Desk, new_id, utc_now
from condition.flow.intake import ARRIVING, arrived, end_items, gone, take_in, take_items
from condition.flow.pool import WorkerFailed, shared
from condition.imaging.stills import MOST, PROGRESS, Still, stills_of
from condition.records.job import Job
from condition.records.photo import Occasion, Photo
from condition.records.task import StillFacts, StillsWanted, Task, TaskItem
from condition.words import say

SECONDS_A_VIDEO = 900.0
FILE_LIMIT_BYTES = 4_000_000_000
USUAL_COUNT = 6
EVERY_S = 0.3


@dataclass(frozen=True, slots=True)
class StillTaken:
    """One still that became a photo of the job; ``seconds`` from the video's beginning, ``cards`` the ids it shows."""

    photo: Photo
    seconds: float
    cards: tuple[int, ...]
    already_here: bool = False


def take_stills(
    desk: Desk,
    job: Job,
    name: str,
    source: Path,
    *,
    moments_s: Sequence[float] = (),
    most: int = USUAL_COUNT,
    view_id: str | None = None,
    occasion: Occasion = "intake",
) -> tuple[StillTaken, ...]:
    """Take the best frames of a video file in as photos.

    Parameters
    ----------
    name : the video's file name, as the photos' captions tell it
    moments_s : times in the video whose sharpest frame nearby is wanted; without them the sharpest frames of all of it
    most : how many, when no moments are given

    Raises
    ------
    Refused
        ``stills.*``: the file is no video that can be read, or too long or too large.
    """
    source = Path(source)
    if not source.is_file():
        raise Refused("stills.not_found", file=name)
    _require_count(most, moments_s)
    _require_size(source, name)
    arriving = desk.store.folder / ARRIVING
    arriving.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory(dir=arriving) as folder:
        stills = _answer(_asked(source, name, folder, most, tuple(moments_s)), name)
        files = [(_file_name(name, one), Path(one.path)) for one in stills]
        facts = {_file_name(name, one): StillFacts(name, one.seconds, one.begun_at, one.cards) for one in stills}
        taken = take_in(
            desk,
            job,
            files,
            view_id=view_id,
            occasion=occasion,
            finish=lambda photo: _described(photo, facts[photo.file_name]),
        )
    for one in taken:
        if one.error is not None:
            raise one.error
    return tuple(
        StillTaken(one.photo, still.seconds, still.cards, one.already_here)
        for still, one in zip(stills, taken, strict=True)
    )


def clock(seconds: float) -> str:
    """Return a time in a video as minutes and seconds, such as 1:04.2."""
    tenths = round(seconds * 10)
    return f"{tenths // 600}:{tenths % 600 // 10:02d}.{tenths % 10}"


def moments(text: str) -> tuple[float, ...]:
    """Return the times that a person wrote, such as ``0:12, 1:04.5`` or ``75``, in seconds.

    Raises
    ------
    Refused
        ``stills.bad_moment``
    """
    found = []
    for word in text.replace(";", ",").replace(" ", ",").split(","):
        if not word:
            continue
        try:
            parts = [float(part) for part in word.split(":")]
        except ValueError as error:
            raise Refused("stills.bad_moment", given=word) from error
        if len(parts) > 3 or any(not 0 <= part < 1e5 for part in parts):
            raise Refused("stills.bad_moment", given=word)
        found.append(sum(part * 60**k for k, part in enumerate(reversed(parts))))
    return tuple(found)


def _require_count(most: int, moments_s: Sequence[float]) -> None:
    if not 1 <= most <= MOST or any(at < 0 for at in moments_s):
        raise Refused("stills.how_many", most=MOST)


def _require_size(source: Path, name: str) -> None:
    if source.stat().st_size > FILE_LIMIT_BYTES:
        raise Refused("stills.too_heavy", file=name, limit=FILE_LIMIT_BYTES // 1_000_000_000)


def _asked(source: Path, name: str, folder: str, most: int, moments_s: tuple[float, ...]) -> Future:
    return shared().submit(stills_of, str(source), name, folder, most, moments_s, seconds=SECONDS_A_VIDEO, file=name)


def _answer(asked: Future, name: str) -> tuple[Still, ...]:
    try:
        return asked.result()
    except Refused as refusal:
        if refusal.code in ("photo.too_slow", "photo.worker_died", "photo.no_memory"):
            raise Refused("stills.too_much", file=name) from refusal
        raise


def _file_name(name: str, still: Still) -> str:
    return f"{Path(name).stem} {clock(still.seconds).replace(':', 'm')}s.jpg"


def _described(photo: Photo, still: StillFacts) -> Photo:
    """Give a still its caption, and the time it was taken when the video tells when it was begun."""
    photo = replace(photo, caption=say("stills.caption", file=still.video, at=clock(still.seconds)))
    if not still.begun_at:
        return photo
    when = datetime.fromisoformat(still.begun_at) + timedelta(seconds=still.seconds)
    advice = tuple(line for line in photo.advice if line[0] != "photo.no_date")
    return replace(photo, taken=when.strftime("%Y-%m-%d %H:%M:%S"), taken_offset="+00:00", advice=advice)


# --- as a stored task


def begin_stills(
    desk: Desk,
    job: Job,
    name: str,
    video: bytes | BinaryIO,
    *,
    moments_s: Sequence[float] = (),
    most: int = USUAL_COUNT,
    view_id: str | None = None,
    occasion: Occasion = "intake",
) -> Task:
    """Begin to take stills from a video, as a stored task a page can watch; the video is on the disk on return.

    Its stills become items of the task, which goes on like any take-in; the video is removed at the end.

    Raises
    ------
    Refused
        ``stills.how_many``, ``stills.too_heavy``
    """
    _require_count(most, moments_s)
    path = arrived(desk, name, video)
    try:
        _require_size(path, name)
    except Refused:
        path.unlink()
        raise
    item = TaskItem(name, str(path.relative_to(desk.store.folder)), wanted=StillsWanted(most, tuple(moments_s)))
    task = Task(new_id(), job.id, items=(item,), view_id=view_id, occasion=occasion, begun_at=utc_now())
    return tasks.begin(desk, task, _work_off)


def resume(desk: Desk) -> None:
    """Go on with the videos that a kill or a stop of the program left unfinished."""
    tasks.resume(desk, _is_video, _work_off)


def video_of(desk: Desk, job: Job) -> Task | None:
    """Return the job's latest task about a video, finished or not."""
    return tasks.latest(desk, job, _is_video)


def share_looked_at(desk: Desk, task: Task) -> float:
    """Return how much of a task's video has been looked through, 0 to 1."""
    if task.video.done:
        return 1.0
    try:
        return float(next(_stills_folder(desk, task).glob(f"*/{PROGRESS}")).read_text())
    except (StopIteration, FileNotFoundError, ValueError):
        return 0.0


def _is_video(task: Task) -> bool:
    return task.video is not None


def _stills_folder(desk: Desk, task: Task) -> Path:
    return desk.store.folder / ARRIVING / task.id


def _work_off(desk: Desk, task_id: str) -> None:
    task = desk.store.get(Task, task_id)
    if not task.video.done:
        task = _looked_through(desk, task)
    if task.video.done:
        facts = {item.name: item.still for item in task.items if item.still is not None}
        task = take_items(desk, task, lambda photo: _described(photo, facts[photo.file_name]))
    shutil.rmtree(_stills_folder(desk, task), ignore_errors=True)
    end_items(desk, task)


def _looked_through(desk: Desk, task: Task) -> Task:
    """Have the stills written, from the video's beginning, and keep them as the task's items, in one operation.

    A task that is stopped meanwhile comes back as it was. Each attempt has a folder of its own, so that a worker that
    outlived a kill of the program finds its folder gone.
    """
    video = task.video
    shutil.rmtree(_stills_folder(desk, task), ignore_errors=True)
    folder = _stills_folder(desk, task) / new_id()
    folder.mkdir(parents=True)
    path = desk.store.folder / video.path
    try:
        if not path.is_file():
            raise gone(video.name)
        asked = _asked(path, video.name, str(folder), video.wanted.most, video.wanted.moments_s)
        while not asked.done():
            if tasks.stopping(task) and folder.exists():
                asked.cancel()
                shutil.rmtree(folder, ignore_errors=True)
            wait([asked], timeout=EVERY_S)
        if tasks.stopping(task):
            return task
        stills = _answer(asked, video.name)
    except ConditionError as error:
        return tasks.keep(desk, replace(task, items=(replace(video, done=True, told=error.told),)))
    except WorkerFailed as defect:
        told = Refused("intake.defect", file=video.name, why=str(defect).strip()).told
        return tasks.keep(desk, replace(task, items=(replace(video, done=True, told=told),)))
    items = tuple(
        TaskItem(
            _file_name(video.name, one),
            str(Path(one.path).relative_to(desk.store.folder)),
            still=StillFacts(video.name, one.seconds, one.begun_at, one.cards),
        )
        for one in stills
    )
    return tasks.keep(desk, replace(task, items=(replace(video, done=True), *items)))

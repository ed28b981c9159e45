"""Photos taken in: judged at once, kept byte for byte, given their place and their scale."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterable
from concurrent.futures import Future
from dataclasses import dataclass, replace
from pathlib import Path
from typing import BinaryIO

from condition.errors import ConditionError, Refused
from condition.flow import tasks
from condition.flow.desk import Desk, new_id, utc_now
from condition.flow.inspection import Inspection, prepare
from condition.flow.pool import WorkerFailed, shared
from condition.flow.scales import scaled
from condition.records.job import Job
from condition.records.photo import Occasion, Photo
from condition.records.task import Task, TaskItem, Told

SECONDS_A_PHOTO = 90.0
ARRIVING = "arriving"

Arrived = tuple[str, bytes | Path]
"""A file's name as it came and its bytes, or where they lie."""

Finish = Callable[[Photo], Photo]
"""Gives a new photo what its file does not say, before it is kept."""


@dataclass(frozen=True, slots=True)
class TakenIn:
    """What became of one file: the photo, or the error that says why not.

    already_here : the same bytes were in the job before; ``photo`` is the one that is there
    """

    file_name: str
    inspection: Inspection | None = None
    photo: Photo | None = None
    error: ConditionError | None = None
    already_here: bool = False


def take_in(
    desk: Desk,
    job: Job,
    files: Iterable[Arrived],
    *,
    view_id: str | None = None,
    occasion: Occasion = "intake",
    finish: Finish | None = None,
) -> list[TakenIn]:
    """Judge and keep photos; a bad file is told and the good ones of the same drop still come in.

    Each file is decoded once, in a worker with limits on time and memory, which also writes its tiles.
    """
    waiting: list[tuple[str, Path | None, Future | ConditionError]] = []
    for name, source in files:
        try:
            path = arrived(desk, name, source)
            waiting.append((name, path, _judge(desk, name, path)))
        except ConditionError as error:
            waiting.append((name, None, error))
    results = []
    for name, path, judged in waiting:
        results.append(_take_one(desk, job, name, path, judged, view_id, occasion, finish))
        if path is not None:
            path.unlink(missing_ok=True)
    return results


def begin_take_in(
    desk: Desk, job: Job, files: Iterable[Arrived], *, view_id: str | None = None, occasion: Occasion = "intake"
) -> Task:
    """Begin to take photos in, as a stored task a page can watch; the files are on the disk when this returns."""
    items = []
    for name, source in files:
        path = arrived(desk, name, source)
        items.append(TaskItem(name, str(path.relative_to(desk.store.folder))))
    task = Task(new_id(), job.id, items=tuple(items), view_id=view_id, occasion=occasion, begun_at=utc_now())
    return tasks.begin(desk, task, _work_off)


def resume(desk: Desk) -> None:
    """Go on with the take-ins that a kill or a stop of the program left unfinished."""
    tasks.resume(desk, _is_take_in, _work_off)


def task_of(desk: Desk, job: Job) -> Task | None:
    """Return the job's latest take-in of photos, finished or not."""
    return tasks.latest(desk, job, _is_take_in)


def take_items(desk: Desk, task: Task, finish: Finish | None = None) -> Task:
    """Take in what is left of a task's files, as long as nobody stops it."""
    job = desk.store.get(Job, task.job_id)
    paths = {index: desk.store.folder / item.path for index, item in enumerate(task.items) if not item.done}
    judged = {
        index: _judge(desk, task.items[index].name, path) if path.exists() else gone(task.items[index].name)
        for index, path in paths.items()
    }
    for index, path in paths.items():
        if tasks.stopping(task):
            judged[index].cancel() if isinstance(judged[index], Future) else None
            continue
        item = task.items[index]
        taken = _take_one(desk, job, item.name, path, judged[index], task.view_id, task.occasion, finish)
        done = replace(item, done=True, photo_id=taken.photo.id if taken.photo else None, told=_told(taken))
        task = tasks.keep(desk, replace(task, items=(*task.items[:index], done, *task.items[index + 1 :])))
    return task


def end_items(desk: Desk, task: Task) -> None:
    """Remove a task's files and keep it as done, or stopped."""
    for item in task.items:
        (desk.store.folder / item.path).unlink(missing_ok=True)
    tasks.keep(desk, replace(task, state="stopped" if tasks.stopping(task) else "done"))


def _is_take_in(task: Task) -> bool:
    return task.video is None


def _work_off(desk: Desk, task_id: str) -> None:
    end_items(desk, take_items(desk, desk.store.get(Task, task_id)))


def gone(name: str) -> Refused:
    return Refused("intake.file_gone", file=name)


def _told(taken: TakenIn) -> Told:
    if taken.error is not None:
        return taken.error.told
    return ("intake.already_here", (("file", taken.file_name),)) if taken.already_here else ("", ())


def arrived(desk: Desk, name: str, source: bytes | Path | BinaryIO) -> Path:
    """Write a file that came to the disk of the store, for good, and return where."""
    path = arriving_path(desk, name)
    try:
        with path.open("wb") as file:
            if isinstance(source, bytes):
                file.write(source)
            elif isinstance(source, Path):
                file.write(source.read_bytes())
            else:
                shutil.copyfileobj(source, file)
            file.flush()
            os.fsync(file.fileno())
    except FileNotFoundError as error:
        path.unlink(missing_ok=True)
        raise Refused("photos.not_found", file=name) from error
    return path


def arriving_path(desk: Desk, name: str) -> Path:
    """Return a new place in the store where a file may lie until it is taken in."""
    folder = desk.store.folder / ARRIVING
    folder.mkdir(exist_ok=True)
    return folder / f"{new_id()}{Path(name).suffix[:8]}"


def _judge(desk: Desk, name: str, path: Path) -> Future:
    return shared().submit(prepare, str(path), name, str(desk.cache), seconds=SECONDS_A_PHOTO)


def _take_one(
    desk: Desk,
    job: Job,
    name: str,
    path: Path | None,
    judged: Future | ConditionError,
    view_id: str | None,
    occasion: Occasion,
    finish: Finish | None,
) -> TakenIn:
    try:
        if isinstance(judged, ConditionError):
            raise judged
        return _keep(desk, job, name, path, judged.result(), view_id, occasion, finish)
    except ConditionError as error:
        return TakenIn(name, error=error)
    except WorkerFailed as defect:
        return TakenIn(name, error=Refused("intake.defect", file=name, why=str(defect).strip()))


def _keep(
    desk: Desk,
    job: Job,
    name: str,
    path: Path,
    seen: Inspection,
    view_id: str | None,
    occasion: Occasion,
    finish: Finish | None,
) -> TakenIn:
    known = desk.store.find(Photo, job_id=job.id, sha256=seen.sha256)
    if known:
        return TakenIn(name, seen, known[0], already_here=True)
    photo = scaled(
        desk,
        Photo(
            id=new_id(),
            job_id=job.id,
            sha256=desk.store.vault.put(path),
            file_name=name,
            media_type=seen.media_type,
            width=seen.width,
            height=seen.height,
            byte_count=path.stat().st_size,
            taken=seen.taken or "",
            taken_offset=seen.offset or "",
            focal_35mm=seen.focal_35mm,
            camera=seen.camera,
            lens=seen.lens,
            has_location=seen.has_location,
            view_id=view_id,
            occasion=occasion,
            advice=seen.advice,
            cards=seen.cards,
            taken_in_at=utc_now(),
        ),
    )
    photo = finish(photo) if finish else photo
    with desk.store.write(new_id(), desk.person) as work:
        known = work.find(Photo, job_id=job.id, sha256=seen.sha256)
        if known:
            return TakenIn(name, seen, known[0], already_here=True)
        order = max((other.sheet_order for other in work.find(Photo, job_id=job.id)), default=0) + 1
        return TakenIn(name, seen, work.put(replace(photo, sheet_order=order)))

"""Photos taken in: judged at once, kept byte for byte, given their place and their scale."""

from __future__ import annotations

import os
import threading
from collections.abc import Iterable
from concurrent.futures import Future
from dataclasses import dataclass, replace
from pathlib import Path

from condition.errors import ConditionError, Refused
from condition.flow.desk import Desk, new_id, utc_now
from condition.flow.inspection import Inspection, prepare
from condition.flow.pool import WorkerFailed, shared
from condition.flow.scales import scaled
from condition.records.job import Job
from condition.records.photo import Occasion, Photo
from condition.records.task import Task, TaskItem

SECONDS_A_PHOTO = 90.0
ARRIVING = "arriving"

Arrived = tuple[str, bytes | Path]
"""A file's name as it came and its bytes, or where they lie."""

_running: dict[str, threading.Thread] = {}
_stop: set[str] = set()
_lock = threading.Lock()


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
    desk: Desk, job: Job, files: Iterable[Arrived], *, view_id: str | None = None, occasion: Occasion = "intake"
) -> list[TakenIn]:
    """Judge and keep photos; a bad file is told and the good ones of the same drop still come in.

    Each file is decoded once, in a worker with limits on time and memory, which also writes its tiles.
    """
    waiting: list[tuple[str, Path | None, Future | ConditionError]] = []
    for name, source in files:
        try:
            path = _arrived(desk, name, source)
            waiting.append((name, path, _judge(desk, name, path)))
        except ConditionError as error:
            waiting.append((name, None, error))
    results = []
    for name, path, judged in waiting:
        results.append(_take_one(desk, job, name, path, judged, view_id, occasion))
        if path is not None:
            path.unlink(missing_ok=True)
    return results


def begin_take_in(
    desk: Desk, job: Job, files: Iterable[Arrived], *, view_id: str | None = None, occasion: Occasion = "intake"
) -> Task:
    """Begin to take photos in, as a stored task a page can watch; the files are on the disk when this returns."""
    items = []
    for name, source in files:
        path = _arrived(desk, name, source)
        items.append(TaskItem(name, str(path.relative_to(desk.store.folder))))
    with desk.store.write(new_id(), desk.person) as work:
        task = work.put(
            Task(new_id(), job.id, items=tuple(items), view_id=view_id, occasion=occasion, begun_at=utc_now())
        )
    _run(desk, task.id)
    return task


def stop(task: Task) -> None:
    """Stop a task after the item it is at; what was taken in stays."""
    _stop.add(task.id)


def resume(desk: Desk) -> None:
    """Go on with the tasks that a kill or a stop of the program left unfinished."""
    for task in desk.store.find(Task, state="running"):
        _run(desk, task.id)


def task_of(desk: Desk, job: Job) -> Task | None:
    """Return the job's latest take-in, finished or not."""
    tasks = desk.store.find(Task, job_id=job.id)
    return tasks[-1] if tasks else None


def put_away(desk: Desk, task: Task) -> None:
    """Forget a finished take-in once its messages are read."""
    with desk.store.write(new_id(), desk.person) as work:
        work.remove(work.get(Task, task.id))


def _run(desk: Desk, task_id: str) -> None:
    with _lock:
        if task_id in _running and _running[task_id].is_alive():
            return
        _running[task_id] = threading.Thread(target=_work_off, args=(desk, task_id), daemon=True)
        _running[task_id].start()


def _work_off(desk: Desk, task_id: str) -> None:
    task = desk.store.get(Task, task_id)
    job = desk.store.get(Job, task.job_id)
    paths = {index: desk.store.folder / item.path for index, item in enumerate(task.items) if not item.done}
    judged = {
        index: _judge(desk, task.items[index].name, path) if path.exists() else _gone(task.items[index].name)
        for index, path in paths.items()
    }
    for index, path in paths.items():
        if task_id in _stop:
            judged[index].cancel() if isinstance(judged[index], Future) else None
            continue
        item = task.items[index]
        taken = _take_one(desk, job, item.name, path, judged[index], task.view_id, task.occasion)
        done = replace(item, done=True, photo_id=taken.photo.id if taken.photo else None, told=_told(taken))
        task = _keep_task(desk, replace(task, items=(*task.items[:index], done, *task.items[index + 1 :])))
    for item in task.items:
        (desk.store.folder / item.path).unlink(missing_ok=True)
    _keep_task(desk, replace(task, state="stopped" if task_id in _stop else "done"))
    _stop.discard(task_id)


def _gone(name: str) -> Refused:
    return Refused("intake.file_gone", file=name)


def _keep_task(desk: Desk, task: Task) -> Task:
    with desk.store.write(new_id(), desk.person) as work:
        return work.put(task)


def _told(taken: TakenIn) -> tuple[str, tuple[tuple[str, str], ...]]:
    if taken.error is not None:
        return (taken.error.code, tuple((key, str(value)) for key, value in taken.error.values.items()))
    return ("intake.already_here", (("file", taken.file_name),)) if taken.already_here else ("", ())


def _arrived(desk: Desk, name: str, source: bytes | Path) -> Path:
    path = arriving_path(desk, name)
    try:
        with path.open("wb") as file:
            file.write(source if isinstance(source, bytes) else source.read_bytes())
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
) -> TakenIn:
    try:
        if isinstance(judged, ConditionError):
            raise judged
        return _keep(desk, job, name, path, judged.result(), view_id, occasion)
    except ConditionError as error:
        return TakenIn(name, error=error)
    except WorkerFailed as defect:
        return TakenIn(name, error=Refused("intake.defect", file=name, why=str(defect).strip()))


def _keep(
    desk: Desk, job: Job, name: str, path: Path, seen: Inspection, view_id: str | None, occasion: Occasion
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
    with desk.store.write(new_id(), desk.person) as work:
        known = work.find(Photo, job_id=job.id, sha256=seen.sha256)
        if known:
            return TakenIn(name, seen, known[0], already_here=True)
        order = max((other.sheet_order for other in work.find(Photo, job_id=job.id)), default=0) + 1
        return TakenIn(name, seen, work.put(replace(photo, sheet_order=order)))

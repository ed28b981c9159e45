"""Stored tasks at work: each in a thread of its own, stopped when asked, gone on with after a kill, put away once read.

What a kind of task does stands in its own module (:mod:`condition.flow.intake`, :mod:`condition.flow.stills`).
"""

from __future__ import annotations

import threading
from collections.abc import Callable

from condition.flow.desk import Desk, new_id
from condition.records.job import Job
from condition.records.task import Task

WorkOff = Callable[[Desk, str], None]
"""Does what is left of the task with this id and keeps it in its last state."""

_running: dict[str, threading.Thread] = {}
_stop: set[str] = set()
_lock = threading.Lock()


def begin(desk: Desk, task: Task, work_off: WorkOff) -> Task:
    """Store a task and begin with it; its files are on the disk already."""
    kept = keep(desk, task)
    _run(desk, kept.id, work_off)
    return kept


def resume(desk: Desk, ours: Callable[[Task], bool], work_off: WorkOff) -> None:
    """Go on with those of the stored tasks that a kill or a stop of the program left unfinished."""
    for task in desk.store.find(Task, state="running"):
        if ours(task):
            _run(desk, task.id, work_off)


def keep(desk: Desk, task: Task) -> Task:
    with desk.store.write(new_id(), desk.person) as work:
        return work.put(task)


def latest(desk: Desk, job: Job, ours: Callable[[Task], bool]) -> Task | None:
    """Return the job's latest task of a kind, finished or not."""
    tasks = [task for task in desk.store.find(Task, job_id=job.id) if ours(task)]
    return tasks[-1] if tasks else None


def put_away(desk: Desk, task: Task) -> None:
    """Forget a finished task once its messages are read."""
    with desk.store.write(new_id(), desk.person) as work:
        work.remove(work.get(Task, task.id))


def stop(task: Task) -> None:
    """Stop a task after the item it is at; what was taken in stays."""
    _stop.add(task.id)


def stopping(task: Task) -> bool:
    return task.id in _stop


def _run(desk: Desk, task_id: str, work_off: WorkOff) -> None:
    def work() -> None:
        work_off(desk, task_id)
        _stop.discard(task_id)

    with _lock:
        if task_id in _running and _running[task_id].is_alive():
            return
        _running[task_id] = threading.Thread(target=work, name="stored task", daemon=True)
        _running[task_id].start()

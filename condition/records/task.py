"""Work that takes longer than a blink: what is to be done, how far it is, and what came of each thing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

TaskState = Literal["running", "done", "stopped"]
Told = tuple[str, tuple[tuple[str, str], ...]]
"""A catalogue code and its values."""


@dataclass(frozen=True, slots=True)
class TaskItem:
    """One thing of a task: a file that arrived (``path`` relative to the store) and what became of it.

    photo_id : the photo it became; ``told`` : what to tell about it, empty code when there is nothing to tell
    """

    name: str
    path: str = ""
    done: bool = False
    photo_id: str | None = None
    told: Told = ("", ())


@dataclass(frozen=True, slots=True)
class Task:
    """A stored task: a killed program goes on with the items not done when it starts again."""

    id: str
    job_id: str
    state: TaskState = "running"
    items: tuple[TaskItem, ...] = ()
    view_id: str | None = None
    occasion: str = "intake"
    begun_at: str = ""
    version: int = 0

    @property
    def done_count(self) -> int:
        return sum(item.done for item in self.items)

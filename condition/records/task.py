"""Work that takes longer than a blink: what is to be done, how far it is, and what came of each thing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

TaskState = Literal["running", "done", "stopped"]
Told = tuple[str, tuple[tuple[str, str], ...]]
"""A catalogue code and its values."""


@dataclass(frozen=True, slots=True)
class StillsWanted:
    """most : how many stills of a video; moments_s : times in it whose sharpest frame nearby is wanted, instead"""

    most: int
    moments_s: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class StillFacts:
    """What a still's file does not say: its time from the video's beginning, and when that was (UTC, or empty)."""

    video: str
    seconds: float
    begun_at: str = ""
    cards: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class TaskItem:
    """One thing of a task: a file that arrived (``path`` relative to the store) and what became of it.

    photo_id : the photo it became; ``told`` : what to tell about it, empty code when there is nothing to tell
    wanted : set on a video, which becomes further items; ``still`` : set on each of these
    """

    name: str
    path: str = ""
    done: bool = False
    photo_id: str | None = None
    told: Told = ("", ())
    wanted: StillsWanted | None = None
    still: StillFacts | None = None


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

    @property
    def video(self) -> TaskItem | None:
        """The video whose stills this task takes; None for a task about photos."""
        return next((item for item in self.items if item.wanted is not None), None)

"""One side of the instrument seen flat, and its frame in millimetres."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

VIEW_NAMES = (
    "front",
    "back",
    "headstock front",
    "headstock back",
    "bass side",
    "treble side",
    "tail end",
    "fingerboard",
    "control cavity",
)

NeckTowards = Literal["up", "right", "down", "left"]


@dataclass(frozen=True, slots=True)
class View:
    """A face: y runs towards the tail, x to the right as seen, millimetres, origin at the outline's neck end.

    base_photo_id : the photo whose outline mark is the view's outline; its plane is the view's plane
    neck_towards : where the neck points in the base photo as it is looked at
    """

    id: str
    job_id: str
    name: str
    base_photo_id: str | None = None
    neck_towards: NeckTowards = "up"
    version: int = 0

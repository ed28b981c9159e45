"""One side of the instrument seen flat, with its outline and frame in millimetres."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from condition.records.shapes import Ring

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

    base_photo_id : the photo the outline was drawn on; its plane is the view's plane
    outline_px : the outline as drawn, upright pixels of the base photo
    neck_towards : where the neck points in the base photo as it is looked at
    """

    id: str
    job_id: str
    name: str
    base_photo_id: str | None = None
    outline_px: Ring | None = None
    neck_towards: NeckTowards = "up"
    version: int = 0

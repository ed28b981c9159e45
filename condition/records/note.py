"""A short note written at the bench while the hands are busy elsewhere."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Note:
    """photo_id : the photo it is about; ``written_by`` : who or what wrote it (``phone`` when it came by the phone)"""

    id: str
    job_id: str
    words: str
    photo_id: str | None = None
    written_by: str = ""
    written_at: str = ""
    version: int = 0

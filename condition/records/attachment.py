"""A file that belongs to a job and is no bench photo: a sound, an invoice, a letter, a specialist's picture."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Nature = Literal["sound", "invoice", "receipt", "letter", "picture", "other"]


@dataclass(frozen=True, slots=True)
class Attachment:
    """The file's bytes are in the vault under ``sha256``, as they came.

    about : the id of the record it belongs to (a fault, a handover ...), empty for the job itself
    """

    id: str
    job_id: str
    sha256: str
    file_name: str
    media_type: str = "application/octet-stream"
    byte_count: int = 0
    nature: Nature = "other"
    about: str = ""
    caption: str = ""
    taken_in_at: str = ""
    version: int = 0

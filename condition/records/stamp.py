"""What is stamped, printed or painted on a part: read and typed in, or left unread and why."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

StampKind = Literal[
    "source date", "resistor bands", "moulded paper bands", "film bands", "resistor print", "capacitor print", "words"
]


@dataclass(frozen=True, slots=True)
class Stamp:
    """part : on what it stands, in words; typed : as read; photo_id : the picture that shows it

    left_unread : it was not read, because reading would disturb the part; ``reason`` says how. A full answer.
    """

    id: str
    job_id: str
    part: str = ""
    kind: StampKind = "words"
    typed: str = ""
    photo_id: str | None = None
    finding_id: str | None = None
    left_unread: bool = False
    reason: str = ""
    note: str = ""
    read_by: str = ""
    read_at: str = ""
    version: int = 0

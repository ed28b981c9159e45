"""Ways for photos to come in by themselves: a phone that was let in, a folder that is watched."""

from __future__ import annotations

from dataclasses import dataclass

from condition.records.photo import Occasion


@dataclass(frozen=True, slots=True)
class PhonePass:
    """What lets one phone add photos and short notes to one job, for a while.

    token_sha256 : hexadecimal; the token itself is only in the QR code
    opened_at, expires_at, withdrawn_at : UTC, ISO 8601 with Z; not withdrawn while empty
    view_id : the face the next photos show, when the bench says so
    """

    id: str
    job_id: str
    token_sha256: str
    opened_at: str
    expires_at: str
    withdrawn_at: str = ""
    occasion: Occasion = "intake"
    view_id: str | None = None
    version: int = 0


@dataclass(frozen=True, slots=True)
class WatchedFolder:
    """A folder whose new pictures are taken into one job while ``on``; the files in it stay as they are."""

    id: str
    job_id: str
    path: str
    occasion: Occasion = "intake"
    view_id: str | None = None
    on: bool = True
    version: int = 0

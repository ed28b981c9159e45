"""Files that belong to a job and are no bench photos, kept byte for byte beside them."""

from __future__ import annotations

import mimetypes
from pathlib import Path

from condition.errors import Refused
from condition.flow.desk import Desk, new_id, utc_now
from condition.records.attachment import Attachment, Nature
from condition.records.job import Job

MOST_BYTES = 200_000_000


def attach(
    desk: Desk, job: Job, name: str, source: bytes | Path, *, nature: Nature = "other", about: str = ""
) -> Attachment:
    """Keep a file with a job; the same bytes about the same thing are kept once.

    Parameters
    ----------
    about : the id of the record it belongs to; empty for the job itself

    Raises
    ------
    Refused
        ``attachment.empty``, ``attachment.too_large``, ``photos.not_found``
    """
    size = len(source) if isinstance(source, bytes) else _size(source, name)
    if not size:
        raise Refused("attachment.empty", file=name)
    if size > MOST_BYTES:
        raise Refused("attachment.too_large", file=name, limit=MOST_BYTES // 1_000_000)
    sha256 = desk.store.vault.put(source)
    known = desk.store.find(Attachment, job_id=job.id, sha256=sha256, about=about)
    if known:
        return known[0]
    file = Attachment(
        new_id(),
        job.id,
        sha256,
        Path(name).name or name,
        mimetypes.guess_type(name)[0] or "application/octet-stream",
        size,
        nature,
        about,
        taken_in_at=utc_now(),
    )
    with desk.store.write(new_id(), desk.person) as work:
        return work.put(file)


def _size(path: Path, name: str) -> int:
    try:
        return path.stat().st_size
    except OSError as error:
        raise Refused("photos.not_found", file=name) from error


def attachments_of(desk: Desk, job: Job, about: str | None = None) -> tuple[Attachment, ...]:
    """Return the job's files, or those about one record."""
    return desk.store.find(Attachment, job_id=job.id, **({} if about is None else {"about": about}))


def bytes_of(desk: Desk, file: Attachment) -> bytes:
    return desk.store.vault.path(file.sha256).read_bytes()


def detach(desk: Desk, file: Attachment) -> None:
    """Take a file off the job; its bytes stay in the vault, and the log can put it back."""
    with desk.store.write(new_id(), desk.person) as work:
        work.remove(work.get(Attachment, file.id))

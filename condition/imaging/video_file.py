"""A video file met at the door: which container it is by its bytes, and when it says it was begun.

Source: ISO/IEC 14496-12 (base media file), 4.2 (boxes) and 8.2.2 (``mvhd``, seconds since 1904-01-01 in UTC); Matroska
(RFC 9559) and RIFF/AVI are known by their first bytes only.
"""

from __future__ import annotations

import struct
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import BinaryIO

_EPOCH = datetime(1904, 1, 1, tzinfo=UTC)
_EARLIEST, _LATEST = datetime(1995, 1, 1, tzinfo=UTC), datetime(2100, 1, 1, tzinfo=UTC)
_MOST_BOXES = 10_000


def container_of(path: Path) -> str:
    """Return ``base media`` (MP4, MOV), ``matroska``, ``avi``, or nothing for what is none of them.

    A playlist or a list of files is none of them: reading it would open what it names.
    """
    with Path(path).open("rb") as file:
        head = file.read(12)
    if head[4:8] in (b"ftyp", b"moov", b"mdat", b"wide", b"free", b"skip"):
        return "base media"
    if head[:4] == b"\x1a\x45\xdf\xa3":
        return "matroska"
    return "avi" if head[:4] == b"RIFF" and head[8:12] == b"AVI " else ""


def begun_at(path: Path) -> datetime | None:
    """Return when a base media file says its recording was made, UTC; None when it does not say, or nothing likely."""
    with Path(path).open("rb") as file:
        size = file.seek(0, 2)
        file.seek(0)
        moov = _find(file, b"moov", size)
        if moov is None:
            return None
        header = _find(file, b"mvhd", moov)
        if header is None:
            return None
        version = file.read(4)[:1]
        data = file.read(8 if version == b"\x01" else 4)
    if len(data) not in (4, 8):
        return None
    (seconds,) = struct.unpack(">Q" if len(data) == 8 else ">I", data)
    if not seconds or seconds > (_LATEST - _EPOCH).total_seconds():
        return None
    when = _EPOCH + timedelta(seconds=seconds)
    return when if when >= _EARLIEST else None


def _find(file: BinaryIO, name: bytes, end: int) -> int | None:
    """Go to the content of the first box of that name before ``end``; return where the content ends."""
    for _ in range(_MOST_BOXES):
        start = file.tell()
        head = file.read(8)
        if len(head) < 8 or start >= end:
            return None
        size, kind = struct.unpack(">I4s", head)
        if size == 1:
            size = struct.unpack(">Q", file.read(8).rjust(8, b"\0"))[0]
        stop = end if size == 0 else start + size
        if stop <= start + 7:
            return None
        if kind == name:
            return min(stop, end)
        file.seek(stop)
    return None

"""Tell a photo's format by its own bytes, before any decoder sees it, and refuse what no decoder should see."""

from __future__ import annotations

import re
from typing import Literal

from condition.errors import Refused

Kind = Literal["JPEG", "PNG", "TIFF", "WEBP", "HEIF"]

SCAN_LIMIT = 200
"""Scans of a progressive JPEG. Cameras and programs write at most about 12; a file of 330 kB with thousands of them
does not finish decoding in 30 s."""

_HEVC_BRANDS = {b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"hevm", b"hevs"}
_GENERAL_BRANDS = {b"mif1", b"msf1", b"mif2"}
_BLANK_TAIL_BYTES = 512
_MARKER = re.compile(rb"\xff[^\x00\xd0-\xd7\xff]")
_START_OF_SCAN, _END_OF_IMAGE = 0xDA, 0xD9


def kind_of(data: bytes, name: str) -> Kind:
    """Return the format of a file.

    Raises
    ------
    Refused
        ``photo.empty``, ``photo.truncated`` (padded with zeros), ``photo.too_slow`` (a JPEG of countless scans) or
        ``photo.not_a_photo``, each with ``file``.
    """
    if not data:
        raise Refused("photo.empty", file=name)
    if data[:3] == b"\xff\xd8\xff":
        scans, ended = _scans(data)
        if scans > SCAN_LIMIT:
            raise Refused("photo.too_slow", file=name)
        if not ended and data.endswith(bytes(_BLANK_TAIL_BYTES)):
            raise Refused("photo.truncated", file=name)
        return "JPEG"
    if data[:8] == b"\x89PNG\r\n\x1a\n":
        return "PNG"
    if data[:4] in (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+"):
        return "TIFF"
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return "WEBP"
    if data[4:8] == b"ftyp" and _is_heif(data):
        return "HEIF"
    if not any(data[:4096]):
        raise Refused("photo.truncated", file=name)
    raise Refused("photo.not_a_photo", file=name)


def _is_heif(data: bytes) -> bool:
    box = data[: min(int.from_bytes(data[:4], "big"), 256)]
    major, others = box[8:12], {box[at : at + 4] for at in range(16, len(box) - 3, 4)}
    return major in _HEVC_BRANDS or (major in _GENERAL_BRANDS and bool(_HEVC_BRANDS & others))


def _scans(data: bytes) -> tuple[int, bool]:
    """Return how many scans the first picture of a JPEG has, counted to just over the limit, and whether it ends.

    Source: ITU-T T.81, B.1.1.2 to B.1.1.4 (markers, segments, stuffed bytes).
    """
    scans, at = 0, 2
    while scans <= SCAN_LIMIT and (found := _MARKER.search(data, at)):
        marker, at = data[found.start() + 1], found.end()
        if marker == _END_OF_IMAGE:
            return scans, True
        if marker == _START_OF_SCAN:
            scans += 1
        at += int.from_bytes(data[at : at + 2], "big")
    return scans, False

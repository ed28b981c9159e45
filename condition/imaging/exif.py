"""What a photo's header says about how it was taken; what is absent or absurd becomes None.

Source: Exif 2.32 (CIPA DC-008-2019): tags 0x9003, 0x9011, 0x920A, 0xA405, 0x0112, 0x829A, 0x829D, 0x8827, 0x8825.
"""

from __future__ import annotations

import io
import logging
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

logging.getLogger("exifread").setLevel(logging.CRITICAL)

TEXT_LIMIT = 80
EARLIEST_YEAR = 1990
"""Digital cameras that write a date are younger (common practice); older dates are unset clocks."""

_DATE = re.compile(r"(\d{4}):(\d\d):(\d\d) (\d\d):(\d\d):(\d\d)")
_OFFSET = re.compile(r"([+-])(\d\d):(\d\d)")
_PLAIN_TEXT = re.compile(r"[\w .,:;/()+\-@*#&'°]*")


@dataclass(frozen=True, slots=True)
class Header:
    """Facts of a photo's header.

    taken : local time of the camera, ``YYYY-MM-DD HH:MM:SS``; its zone is unknown unless ``offset`` tells it
    offset : ``+HH:MM`` or ``-HH:MM``
    focal_35mm : focal length that sees the same diagonal angle on 36 x 24 mm film (CIPA DCG-001)
    focal_mm, exposure_s, aperture_f, iso : as the camera says
    orientation : Exif Orientation 1..8 as stored, whether or not it is the one to apply
    has_location : the header holds a latitude or longitude (never read out here)
    """

    taken: str | None = None
    offset: str | None = None
    focal_35mm: float | None = None
    focal_mm: float | None = None
    exposure_s: float | None = None
    aperture_f: float | None = None
    iso: int | None = None
    make: str | None = None
    model: str | None = None
    lens: str | None = None
    orientation: int | None = None
    has_location: bool = False


def read(data: bytes) -> Header:
    """Return the header facts of a photo file, or of a bare Exif block (as a HEIF decoder hands it over).

    Never raises: a header that can't be read has no facts.
    """
    import exifread

    start = 6 if data[:6] == b"Exif\0\0" else 0
    try:
        return from_tags(exifread.process_file(io.BytesIO(data[start:]), details=False, extract_thumbnail=False))
    except Exception:  # the reader raises AssertionError, struct.error, IndexError, ... on odd headers
        return Header()


def from_tags(tags: Mapping[str, object]) -> Header:
    """Return the facts of a tag table: exifread's names (``EXIF FocalLength``) to its tags or to plain values."""

    def tag(name: str) -> object:
        return tags.get(f"EXIF {name}", tags.get(f"Image {name}"))

    taken = _moment(tag("DateTimeOriginal"))
    return Header(
        taken=taken,
        offset=_offset(tag("OffsetTimeOriginal")) if taken else None,
        focal_35mm=_number(tag("FocalLengthIn35mmFilm"), 1, 3000),
        focal_mm=_number(tag("FocalLength"), 0.5, 3000),
        exposure_s=_number(tag("ExposureTime"), 1e-6, 36000),
        aperture_f=_number(tag("FNumber"), 0.5, 256),
        iso=_whole(tag("ISOSpeedRatings"), 1, 10_000_000),
        make=_text(tags.get("Image Make")),
        model=_text(tags.get("Image Model")),
        lens=_text(tag("LensModel")),
        orientation=_whole(tags.get("Image Orientation"), 1, 8),
        has_location=any(_values(tags.get(name)) for name in ("GPS GPSLatitude", "GPS GPSLongitude")),
    )


def _values(tag: object) -> list:
    values = getattr(tag, "values", tag)
    if values is None:
        return []
    return list(values) if isinstance(values, (list, tuple)) else [values]


def _first_number(tag: object) -> float | None:
    values = _values(tag)
    try:
        number = float(values[0])
    except (IndexError, TypeError, ValueError, ZeroDivisionError, OverflowError):
        return None
    return number if math.isfinite(number) else None


def _number(tag: object, least: float, most: float) -> float | None:
    number = _first_number(tag)
    return number if number is not None and least <= number <= most else None


def _whole(tag: object, least: int, most: int) -> int | None:
    number = _number(tag, least, most)
    return int(number) if number is not None and number == int(number) else None


def _string(tag: object) -> str:
    values = _values(tag)
    text = values[0] if len(values) == 1 else ""
    if isinstance(text, bytes):
        text = text.decode("utf-8", "replace")
    return text.split("\0")[0].strip() if isinstance(text, str) else ""


def _text(tag: object) -> str | None:
    text = _string(tag)
    return text if text and len(text) <= TEXT_LIMIT and _PLAIN_TEXT.fullmatch(text) else None


def _moment(tag: object) -> str | None:
    match = _DATE.fullmatch(_string(tag))
    if not match:
        return None
    try:
        moment = datetime(*map(int, match.groups()))
    except ValueError:
        return None
    return str(moment) if moment.year >= EARLIEST_YEAR else None


def _offset(tag: object) -> str | None:
    match = _OFFSET.fullmatch(_string(tag))
    if not match:
        return None
    minutes = int(match[2]) * 60 + int(match[3])
    return match[0] if int(match[3]) < 60 and minutes <= 14 * 60 else None

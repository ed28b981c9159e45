"""Header facts, against real headers (samples/SOURCES.md) and the rules of Exif 2.32 (CIPA DC-008-2019)."""

from __future__ import annotations

import struct
from dataclasses import asdict
from fractions import Fraction
from pathlib import Path

import pytest

from condition.imaging import exif
from condition.imaging.decode import decode

SAMPLES = Path(__file__).parent / "samples"


def of(name: str) -> exif.Header:
    return exif.read((SAMPLES / name).read_bytes())


@pytest.mark.parametrize(
    ("name", "focal_mm", "focal_35mm"),
    [
        ("focal_12_as_57.jpg", 12.0, 57),
        ("focal_50_as_100.jpg", 50, 100),
        ("focal_50_as_75.jpg", 50, 75),
        ("focal_35_as_35.jpg", 35, 35),
        ("empty_location.jpg", 4.74, 26),
        ("two_pictures.mpo", 6.86, 24),
    ],
)
def test_focal_lengths_of_real_cameras(name, focal_mm, focal_35mm):
    """Values as Pillow reads them from the same files."""
    header = of(name)
    assert header.focal_mm == pytest.approx(focal_mm)
    assert header.focal_35mm == focal_35mm
    assert header.make
    assert header.model


@pytest.mark.parametrize(
    ("name", "taken", "offset"),
    [
        ("focal_12_as_57.jpg", "2014-03-24 17:18:28", None),
        ("flower.webp", "2003-12-14 12:01:44", None),
        ("two_pictures.mpo", "2025-09-07 14:16:43", "-04:00"),
        ("grey_with_zone.heic", "2020-09-14 11:09:34", "-05:00"),
        ("fax_orientation_6.tif", None, None),
    ],
)
def test_the_camera_s_local_time_and_its_zone_only_when_it_says_one(name, taken, offset):
    header = decode((SAMPLES / name).read_bytes(), name=name).header
    assert (header.taken, header.offset) == (taken, offset)


def test_a_location_is_told_as_there_or_not_and_never_read_out():
    assert of("odd_location.jpg").has_location
    assert not of("empty_location.jpg").has_location
    assert not of("focal_12_as_57.jpg").has_location
    assert set(asdict(of("odd_location.jpg"))) == set(exif.Header.__dataclass_fields__)
    assert not any("lat" in name or "lon" in name for name in exif.Header.__dataclass_fields__)


@pytest.mark.parametrize(
    "absurd",
    [
        "    :  :     :  :  ",
        "0000:00:00 00:00:00",
        "2023:02:30 10:00:00",
        "2023:13:01 10:00:00",
        "2023:03:15 25:00:00",
        "2024-04-22T14:38:09GMT+2",
        "1970:01:01 00:00:00",
        "<script>alert(1)</script>",
        "2023:03:15 14:05:22<b>",
        "",
    ],
)
def test_a_blank_impossible_or_foreign_date_is_no_date(absurd):
    """Blanks between the colons mean unknown (Exif, tag 0x9003); the GMT form is one a real device writes."""
    header = exif.from_tags({"EXIF DateTimeOriginal": absurd, "EXIF OffsetTimeOriginal": "+01:00"})
    assert header.taken is None
    assert header.offset is None


@pytest.mark.parametrize("absurd", ["   :  ", "+8:00", "+08:61", "+15:00", "Z", "<b>"])
def test_a_malformed_zone_is_no_zone(absurd):
    header = exif.from_tags({"EXIF DateTimeOriginal": "2023:03:15 14:05:22", "EXIF OffsetTimeOriginal": absurd})
    assert (header.taken, header.offset) == ("2023-03-15 14:05:22", None)


class ZeroDenominator:
    """As exifread's rational behaves when a camera writes 0/0."""

    def __float__(self) -> float:
        raise ZeroDivisionError


@pytest.mark.parametrize(
    "absurd", [0, -5, float("nan"), float("inf"), 1e9, "twenty", None, [], [ZeroDenominator()], Fraction(0)]
)
def test_a_zero_or_endless_number_is_no_number(absurd):
    """0 means unknown for 0xA405 (Exif 2.32, 4.6.6)."""
    names = ("FocalLengthIn35mmFilm", "FocalLength", "ExposureTime", "FNumber", "ISOSpeedRatings")
    header = exif.from_tags({f"EXIF {name}": absurd for name in names})
    assert header == exif.Header()


@pytest.mark.parametrize("absurd", ["<script>x</script>", "a" * 200, "\x1b[31mred", "line\nline", "  "])
def test_a_name_that_could_do_harm_is_no_name(absurd):
    assert exif.from_tags({"Image Make": absurd, "Image Model": absurd, "EXIF LensModel": absurd}) == exif.Header()


@pytest.mark.parametrize("absurd", [0, 9, 3.5, "up"])
def test_an_orientation_outside_1_to_8_is_none(absurd):
    assert exif.from_tags({"Image Orientation": absurd}).orientation is None


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"Exif\0\0",
        b"II*\0",
        b"II*\0\xff\xff\xff\xff",
        b"MM\0*\0\0\0\x08\xff\xff" + b"\xff" * 64,
        b"II*\0\x08\0\0\0" + struct.pack("<HHHII", 1, 0x829A, 5, 1, 0xFFFFFFF0),
        b"\xff\xd8\xff\xe1\xff\xffExif\0\0II*\0",
        b"\0\0\0\x18ftypheic" + b"\0" * 40,
        b"RIFF\xff\xff\xff\xffWEBPEXIF",
        b"not a picture at all",
    ],
)
def test_a_broken_header_has_no_facts_and_never_raises(data):
    assert exif.read(data) == exif.Header()


def test_every_cut_of_a_real_header_is_read_without_raising():
    data = (SAMPLES / "two_pictures.mpo").read_bytes()[:4000]
    for end in range(0, len(data), 37):
        exif.read(data[:end])

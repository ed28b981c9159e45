"""A photo given to a command is decoded in a worker process, under its limits."""

from __future__ import annotations

import numpy as np
import pool_tasks
import pytest
from PIL import Image

from condition.__main__ import main
from condition.errors import Refused
from condition.flow import loose_photos
from condition.flow.loose_photos import read_photo
from condition.flow.pool import shared


@pytest.fixture
def photo(tmp_path):
    pixels = np.arange(40 * 60 * 3, dtype=np.uint8).reshape(40, 60, 3)
    path = tmp_path / "a.png"
    Image.fromarray(pixels).save(path)
    return path, pixels


def test_the_pixels_are_those_of_the_file_and_none_are_decoded_here(photo, monkeypatch):
    path, pixels = photo

    def here(*_, **__):
        raise AssertionError("decoded in the command's own process")

    monkeypatch.setattr("condition.imaging.decode.decode", here)
    read = read_photo(str(path))
    assert np.array_equal(read.rgb, pixels)
    assert (read.width, read.height, read.focal_35mm) == (60, 40, None)


NO_MARKS = '{"@context": "http://www.w3.org/ns/anno.jsonld", "type": "AnnotationPage", "items": []}'


class Hurried:
    """The shared pool with half a second for each task."""

    def submit(self, *task):
        return shared().submit(*task, seconds=0.5)


@pytest.mark.parametrize(
    "command",
    [
        ["scale"],
        ["measure", "--marks", "marks.json"],
        ["holes", "--box", "1,1,9,9"],
        ["grow", "5,5"],
        ["trace", "1,1", "9,9"],
    ],
    ids=lambda command: command[0],
)
@pytest.mark.parametrize("way", ["felled", "stuck"])
def test_a_file_that_fells_or_stops_its_decoder_is_told_in_one_sentence(photo, monkeypatch, capsys, command, way):
    path, _ = photo
    monkeypatch.chdir(path.parent)
    (path.parent / "marks.json").write_text(NO_MARKS)
    monkeypatch.setattr(loose_photos, "decode_into", pool_tasks.fell if way == "felled" else pool_tasks.stay)
    if way == "stuck":
        monkeypatch.setattr(loose_photos, "shared", Hurried)
    assert main([command[0], str(path), *command[1:]]) == 2
    said = capsys.readouterr()
    assert not said.out
    assert said.err.count("\n") == 1
    assert "a.png" in said.err


@pytest.mark.parametrize(
    ("name", "data", "code"),
    [
        ("script.jpg", b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\n{ } loop\n", "photo.not_a_photo"),
        ("cut.jpg", b"\xff\xd8\xff\xe0\x00\x10JFIF\x00", "photo.truncated"),
    ],
)
def test_a_file_that_is_no_photo_is_refused(tmp_path, name, data, code):
    (tmp_path / name).write_bytes(data)
    with pytest.raises(Refused) as refused:
        read_photo(str(tmp_path / name))
    assert refused.value.code == code

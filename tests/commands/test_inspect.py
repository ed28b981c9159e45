"""``inspect`` and the table of commands, as a person and as a script meet them."""

from __future__ import annotations

import errno
import io
import json
import os
import struct
import subprocess
import sys
import time
import types
import zlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from condition import __main__ as table
from condition.errors import Damaged, InvalidRecord, Refused

ROOT = Path(__file__).parents[2]
SAMPLES = ROOT / "tests" / "imaging" / "samples"


def run(*words: object, **environment: str) -> subprocess.CompletedProcess:
    command = [sys.executable, "-m", "condition", *map(str, words)]
    return subprocess.run(
        command, capture_output=True, text=True, timeout=120, cwd=ROOT, env={**os.environ, **environment}
    )


def jpeg(**options) -> bytes:
    out = io.BytesIO()
    noise = np.random.default_rng(1).integers(0, 256, (240, 320, 3), np.uint8)
    Image.fromarray(noise).save(out, "JPEG", **options)
    return out.getvalue()


def png_of(width: int, height: int) -> bytes:
    def chunk(name: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    head = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + head + chunk(b"IDAT", zlib.compress(bytes(1000))) + chunk(b"IEND", b"")


def thousands_of_scans() -> bytes:
    data = jpeg(progressive=True)
    last = data.rfind(b"\xff\xda")
    return data[:last] + data[last:-2] * 4000 + b"\xff\xd9"


HOSTILE = {
    "postscript.jpg": b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\n{ } loop\n",
    "letter.jpg": b"Dear customer, please find the photos attached.\n",
    "cut.jpg": jpeg()[:9000],
    "empty.jpg": b"",
    "huge.png": png_of(30000, 30000),
    "scans.jpg": thousands_of_scans(),
    "page.jpg": b"<html><script>alert(1)</script></html>",
    "line\nbreak.jpg": b"x",
}


def test_every_bad_file_gets_one_sentence_within_seconds_and_the_good_one_is_told(tmp_path):
    for name, data in HOSTILE.items():
        (tmp_path / name).write_bytes(data)
    good = SAMPLES / "two_pictures.mpo"
    started = time.monotonic()
    done = run("inspect", "--json", *(tmp_path / name for name in HOSTILE), good)
    assert time.monotonic() - started < 40
    assert done.returncode == 2
    assert "Traceback" not in done.stdout + done.stderr
    told = [json.loads(line) for line in done.stdout.splitlines()]
    assert [Path(line["file"]).name for line in told] == [*HOSTILE, good.name]
    assert [line["accepted"] for line in told] == [False] * len(HOSTILE) + [True]
    assert len(done.stderr.splitlines()) == len(HOSTILE)
    assert all(line["error"].endswith(".") for line in told[:-1])
    keys = {"file", "accepted", "width", "height", "taken", "focal_35mm", "sha256", "advice", "error"}
    assert all(keys <= set(line) for line in told)
    assert (told[-1]["width"], told[-1]["height"], told[-1]["taken"]) == (56, 70, "2025-09-07 14:16:43")
    assert (told[-1]["focal_35mm"], told[-1]["error"]) == (24, None)
    assert any(line.startswith("No size card seen") for line in told[-1]["advice"])


def test_in_plain_words_good_photos_go_to_output_and_refusals_to_errors(tmp_path):
    (tmp_path / "empty.jpg").write_bytes(b"")
    good = SAMPLES / "empty_location.jpg"
    done = run("inspect", good, tmp_path / "empty.jpg", tmp_path / "none.jpg", tmp_path)
    assert done.returncode == 2
    assert done.stdout.startswith(f"{good}: accepted, 10 x 10 px, taken 2020-07-27 14:46:48, 26 mm")
    assert done.stderr.splitlines() == [
        "empty.jpg is empty (0 bytes). Copy it again from the camera or phone.",
        "none.jpg is not there. Check the name and the folder.",
        f"{tmp_path.name} is not a file. Name the photos themselves, not their folder.",
    ]


def test_all_good_is_exit_status_0():
    done = run("inspect", "--json", SAMPLES / "two_pixels_orientation_8.jpg")
    assert (done.returncode, done.stderr) == (0, "")
    assert json.loads(done.stdout)["height"] == 2


def test_help_comes_at_once_and_lists_what_is_there():
    started = time.monotonic()
    done = run("--help")
    assert time.monotonic() - started < 5
    assert done.returncode == 0
    assert "inspect    read and judge photos" in done.stdout
    assert {name for name in table.COMMANDS if f"\n  {name} " in done.stdout} == set(table.offered())


def test_help_loads_nothing_heavy():
    script = "import sys; from condition.__main__ import main; main(['--help']); main(['inspect', '--json'])\n"
    script += (
        "print(sorted({'cv2', 'numpy', 'PIL', 'scipy', 'sqlalchemy', 'streamlit', 'reportlab'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, cwd=ROOT, timeout=60)
    assert done.stdout.splitlines()[-1] == "[]"


@pytest.mark.parametrize("words", [["fly"], ["inspect"], ["inspect", "--colour", "a.jpg"], ["--json"]])
def test_a_wrong_use_is_refused_in_one_line(words):
    done = run(*words)
    assert done.returncode == 2
    assert len(done.stderr.splitlines()) == 1
    assert "--help" in done.stderr


def command(monkeypatch, error: BaseException) -> None:
    def main(args) -> int:
        raise error

    module = types.SimpleNamespace(attach=lambda parser: None, main=main)
    monkeypatch.setattr(table, "offered", lambda: ["inspect"])
    monkeypatch.setattr(table.importlib, "import_module", lambda name: module)


@pytest.mark.parametrize(
    ("error", "status", "word"),
    [
        (Refused("photo.empty", file="a.jpg"), 2, "a.jpg is empty"),
        (InvalidRecord("point", "coordinates must be finite pairs"), 2, ""),
        (Damaged("photo.damaged", file="a.jpg"), 2, "a.jpg is damaged"),
        (OSError(errno.ENOSPC, "No space left on device"), 2, "disk is full"),
        (PermissionError(errno.EACCES, "denied", "/root/out.pdf"), 2, "/root/out.pdf can't be written"),
        (KeyError("plane\nof two lines"), 1, "The program failed"),
    ],
)
def test_every_kind_of_failure_has_its_status_and_one_line(monkeypatch, capsys, error, status, word):
    monkeypatch.delenv("CONDITION_DEBUG", raising=False)
    command(monkeypatch, error)
    assert table.main(["inspect", "--json"]) == status
    seen = capsys.readouterr()
    assert len(seen.err.splitlines()) == 1
    assert word in seen.err
    assert json.loads(seen.out)["error"] == seen.err.strip()


def test_a_defect_shows_its_place_only_when_asked(monkeypatch):
    command(monkeypatch, KeyError("x"))
    monkeypatch.setenv("CONDITION_DEBUG", "1")
    with pytest.raises(KeyError):
        table.main(["inspect"])


def test_a_reader_that_stops_reading_is_no_failure():
    good = str(SAMPLES / "two_pixels_orientation_8.jpg")
    done = subprocess.run(
        f"{sys.executable} -m condition inspect {' '.join([good] * 6)} | head -1",
        shell=True, capture_output=True, text=True, cwd=ROOT, timeout=120,
    )  # fmt: skip
    assert "Traceback" not in done.stderr
    assert "Exception" not in done.stderr

"""Archives held to RFC 8493 (BagIt 1.0) and cross-checked with the Library of Congress's bagit library. Rows BG-..
name the rules of the RFC they test."""

from __future__ import annotations

import hashlib
import os
import shutil
import sys

import bagit
import pytest

from condition.errors import Refused
from condition.report import bag
from condition.report.bag import check_bag, is_unsafe, safe_name, write_bag
from condition.words import say_error

PAYLOAD = [("a.txt", b"hello\n"), ("sub/b.bin", bytes(range(256)))]
INFO = {"External-Identifier": "J-1", "External-Description": "two\nlines"}


@pytest.fixture
def folder(tmp_path):
    write_bag(tmp_path / "bag", PAYLOAD, INFO)
    return tmp_path / "bag"


def codes(folder) -> list[tuple[str, str]]:
    problems = check_bag(folder)
    for problem in problems:
        assert not say_error(problem).startswith("bag."), "a problem has no words"
    return [(problem.path, problem.code.removeprefix("bag.")) for problem in problems]


def rewrite(folder, name: str, text: str) -> None:
    """Write a tag file and keep the tag manifests in step, so that only the one thing under test is wrong."""
    (folder / name).write_bytes(text.encode())
    for algorithm in ("sha256", "sha512"):
        listed = folder / f"tagmanifest-{algorithm}.txt"
        lines = [line for line in listed.read_text().splitlines() if not line.endswith(f"  {name}")]
        lines.append(f"{hashlib.new(algorithm, text.encode()).hexdigest()}  {name}")
        listed.write_text("\n".join(lines) + "\n")


def test_the_declaration_is_that_of_version_1_0(folder):
    """BG-2, BG-10."""
    assert (folder / "bagit.txt").read_bytes() == b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"


def test_a_written_bag_is_sound_here_and_for_the_bagit_library(folder):
    assert codes(folder) == []
    assert bagit.Bag(str(folder)).validate()


def test_sums_and_oxum_are_those_of_the_reference(folder):
    """BG-8, BG-9: 262.2 and the two SHA-256 values, which the bagit library computed."""
    info = (folder / "bag-info.txt").read_text()
    assert "Payload-Oxum: 262.2\n" in info
    assert "External-Description: two lines\n" in info
    assert (folder / "manifest-sha256.txt").read_text().splitlines() == [
        "5891b5b522d5df086d0ff0b110fbd9d21bb4fc7163af34d08286a2e846f6be03  data/a.txt",
        "40aff2e9d2d8922e47afd4648e6967497158785fbd1da870e7110266bf944880  data/sub/b.bin",
    ]


def test_tag_manifests_list_no_payload_and_no_tag_manifest(folder):
    """BG-6."""
    for algorithm in ("sha256", "sha512"):
        names = {line.split("  ")[1] for line in (folder / f"tagmanifest-{algorithm}.txt").read_text().splitlines()}
        assert names == {"bagit.txt", "bag-info.txt", "manifest-sha256.txt", "manifest-sha512.txt"}


def test_a_bag_made_by_the_bagit_library_is_sound_here(tmp_path):
    for name, content in (("a.txt", b"hello\n"), ("100%.txt", b"x"), ("line\nend.txt", b"y")):
        (tmp_path / name).write_bytes(content)
    bagit.make_bag(str(tmp_path), checksums=["md5", "sha512"])
    assert codes(tmp_path) == []


@pytest.mark.skipif(sys.platform == "win32", reason="the names cannot exist there")
def test_line_ends_and_percent_signs_in_names_are_encoded(tmp_path):
    """BG-4."""
    write_bag(tmp_path / "bag", [("a\nb.txt", b"1"), ("50%.txt", b"2"), ("c%0Ad.txt", b"3")], {})
    text = (tmp_path / "bag" / "manifest-sha256.txt").read_text()
    assert [line.split("  ")[1] for line in text.splitlines()] == [
        "data/50%25.txt",
        "data/a%0Ab.txt",
        "data/c%250Ad.txt",
    ]
    assert codes(tmp_path / "bag") == []


def test_a_flipped_bit_is_found_once_with_its_path(folder):
    content = bytearray((folder / "data/sub/b.bin").read_bytes())
    content[100] ^= 1
    (folder / "data/sub/b.bin").write_bytes(content)
    assert codes(folder) == [("data/sub/b.bin", "altered")]


def test_all_problems_are_told_together(folder):
    (folder / "data/a.txt").unlink()
    (folder / "data/stranger.txt").write_text("?")
    (folder / "data/sub/b.bin").write_bytes(b"short")
    found = codes(folder)
    assert ("data/a.txt", "missing") in found
    assert ("data/stranger.txt", "stranger") in found
    assert ("data/sub/b.bin", "altered") in found
    assert ("bag-info.txt", "oxum") in found


@pytest.mark.parametrize("name", ["bagit.txt", "bag-info.txt", "manifest-sha256.txt"])
def test_an_altered_tag_file_is_found(folder, name):
    (folder / name).write_bytes((folder / name).read_bytes() + b"\n")
    assert (name, "altered") in codes(folder)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("BagIt-Version: 1.0 \nTag-File-Character-Encoding: UTF-8\n", "bad_bagit"),
        ("\ufeffBagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n", "bad_bagit"),
        ("Tag-File-Character-Encoding: UTF-8\nBagIt-Version: 1.0\n", "bad_bagit"),
        ("BagIt-Version: 1.0\n", "bad_bagit"),
        ("BagIt-Version: 9.7\nTag-File-Character-Encoding: UTF-8\n", "version"),
    ],
)
def test_another_declaration_is_refused(folder, text, code):
    """BG-2, BG-12 (white space in bagit.txt)."""
    rewrite(folder, "bagit.txt", text)
    assert ("bagit.txt", code) in codes(folder)


def test_what_is_required_must_be_there(tmp_path, folder):
    """BG-1."""
    assert codes(tmp_path / "nowhere") == [(str(tmp_path / "nowhere"), "no_folder")]
    (tmp_path / "photos" / "2026").mkdir(parents=True)
    (tmp_path / "photos" / "link").symlink_to(tmp_path)
    assert codes(tmp_path / "photos") == [("bagit.txt", "no_bagit")]
    (folder / "bagit.txt").unlink()
    for manifest in folder.glob("manifest-*.txt"):
        manifest.unlink()
    assert [code for _, code in codes(folder)][:2] == ["no_bagit", "no_manifest"]
    shutil.rmtree(folder / "data")
    rewrite(folder, "bagit.txt", "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n")
    assert [code for _, code in codes(folder)][:2] == ["no_data", "no_manifest"]


def test_manifests_that_differ_in_files_and_names_given_twice_are_told(folder):
    """BG-5, BG-12."""
    lines = (folder / "manifest-sha512.txt").read_text().splitlines()
    rewrite(folder, "manifest-sha512.txt", f"{lines[0]}\n{lines[0]}\n")
    assert codes(folder) == [("data/a.txt", "twice"), ("data/sub/b.bin", "stranger")]


@pytest.mark.parametrize(
    "path",
    [
        "/etc/passwd",
        "../outside.txt",
        "data/../../outside.txt",
        "~user/x",
        "C:\\x",
        "C:/x",
        "data\\..\\x",
        "data//x",
        "./data/a.txt",
    ],
)
def test_paths_that_could_lead_out_are_told_and_never_read(folder, path):
    """BG-11."""
    assert is_unsafe(path)
    text = (folder / "manifest-sha256.txt").read_text() + f"{'0' * 64}  {path}\n"
    rewrite(folder, "manifest-sha256.txt", text)
    assert ("manifest-sha256.txt", "unsafe_path") in codes(folder)


def test_a_fetch_list_is_refused(folder):
    (folder / "fetch.txt").write_text("file:///etc/passwd 10 data/passwd\n")
    assert ("fetch.txt", "fetch") in codes(folder)


@pytest.mark.skipif(sys.platform == "win32", reason="links need rights there")
def test_links_are_told_and_not_followed(folder, tmp_path):
    """The bagit library takes both bags for valid."""
    outside = tmp_path / "outside"
    outside.mkdir()
    (outside / "secret.txt").write_text("s")
    (folder / "data" / "more").symlink_to(outside)
    (folder / "data" / "a.txt").unlink()
    (folder / "data" / "a.txt").symlink_to(outside / "secret.txt")
    found = codes(folder)
    assert ("data/more", "link") in found
    assert ("data/a.txt", "link") in found
    assert not any("secret" in path for path, _ in found)
    (tmp_path / "alias").symlink_to(folder)
    assert codes(tmp_path / "alias") == [(str(tmp_path / "alias"), "no_folder")]


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes there")
def test_a_pipe_is_told_and_not_waited_for(folder):
    os.mkfifo(folder / "data" / "pipe")
    assert ("data/pipe", "no_file") in codes(folder)


def test_lines_that_are_no_sums_are_told(folder):
    text = (folder / "manifest-sha256.txt").read_text()
    rewrite(folder, "manifest-sha256.txt", text + "nonsense\nabc  data/a.txt\n")
    assert codes(folder) == [("manifest-sha256.txt", "bad_line")] * 2
    rewrite(folder, "manifest-sha256.txt", text)
    rewrite(folder, "manifest-crc32.txt", "abcd1234  data/a.txt\n")
    assert ("manifest-crc32.txt", "unknown_sum") in codes(folder)


def test_nothing_is_written_over(folder, tmp_path):
    with pytest.raises(Refused) as caught:
        write_bag(folder, PAYLOAD, {})
    assert caught.value.code == "bag.not_empty"
    (tmp_path / "empty").mkdir()
    write_bag(tmp_path / "empty", PAYLOAD, {})
    assert codes(tmp_path / "empty") == []


def test_an_archive_that_fails_on_the_way_leaves_nothing(tmp_path):
    def breaking():
        yield PAYLOAD[0]
        raise OSError("the plug was pulled")

    with pytest.raises(OSError, match="plug"):
        write_bag(tmp_path / "bag", breaking(), {})
    assert list(tmp_path.iterdir()) == []
    with pytest.raises(Refused):
        write_bag(tmp_path / "bag", [("a", tmp_path / "gone.jpg")], {})
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("path", ["../x", "/x", "a/../../x", ""])
def test_a_payload_path_that_leads_out_is_a_defect(tmp_path, path):
    with pytest.raises(ValueError, match="payload"):
        write_bag(tmp_path / "bag", [(path, b"")], {})


@pytest.mark.parametrize(
    ("name", "safe"),
    [
        ("front.jpg", "front.jpg"),
        ("Ru\u0308cken #1.jpg", "Rücken #1.jpg"),
        ("../../etc/passwd", "_.._etc_passwd"),
        ("a/b\\c:d.jpg", "a_b_c_d.jpg"),
        ("con.jpg", "_con.jpg"),
        (" .hidden. ", "hidden"),
        ("~user", "_~user"),
        ("", "file"),
    ],
)
def test_file_names_are_made_safe(name, safe):
    made = safe_name(name)
    assert made == safe
    assert not is_unsafe("data/" + made)


def test_long_names_keep_their_ending():
    made = safe_name("ü" * 300 + ".jpeg")
    assert made.endswith(".jpeg")
    assert len(made.encode()) <= 180
    assert len(safe_name("x." + "y" * 400).encode()) <= 180


def test_a_bag_with_endless_problems_is_told_in_part(folder):
    text = "nonsense\n" * (bag.MOST_PROBLEMS + 500)
    rewrite(folder, "manifest-sha256.txt", text)
    assert len(codes(folder)) == bag.MOST_PROBLEMS

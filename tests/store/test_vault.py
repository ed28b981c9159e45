import errno
import hashlib
import os
import random
import stat

import pytest

from condition.errors import Refused
from condition.store import vault as vault_module
from condition.store.vault import Vault
from tests.store.bench_records import SHA256_ABC

SHA256_EMPTY = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
"""SHA-256 of no bytes at all: NIST CAVP, SHA256ShortMsg.rsp, Len = 0."""


@pytest.fixture
def vault(tmp_path):
    (tmp_path / "photos").mkdir()
    return Vault(tmp_path / "photos")


def files(vault):
    return sorted(str(p.relative_to(vault.folder)) for p in vault.folder.rglob("*") if p.is_file())


def test_bytes_are_kept_under_the_published_sha256(vault):
    assert vault.put(b"abc") == SHA256_ABC
    assert vault.put(b"") == SHA256_EMPTY
    assert files(vault) == [f"ba/{SHA256_ABC}", f"e3/{SHA256_EMPTY}"]
    assert list(vault) == [SHA256_ABC, SHA256_EMPTY]


def test_a_file_comes_back_byte_for_byte_and_its_source_is_untouched(vault, tmp_path):
    data = random.Random(5).randbytes(3_000_001)
    source = tmp_path / "top.jpg"
    source.write_bytes(data)
    sha256 = vault.put(source)
    assert sha256 == hashlib.sha256(data).hexdigest()
    with vault.open(sha256) as kept:
        assert kept.read() == data
    assert source.read_bytes() == data


def test_the_same_bytes_are_kept_once(vault, tmp_path):
    (tmp_path / "again.jpg").write_bytes(b"abc")
    vault.put(b"abc")
    first = vault.path(SHA256_ABC).stat()
    assert vault.put(tmp_path / "again.jpg") == SHA256_ABC
    assert files(vault) == [f"ba/{SHA256_ABC}"]
    assert vault.path(SHA256_ABC).stat().st_ino == first.st_ino


def test_kept_files_are_read_only(vault):
    vault.put(b"abc")
    assert stat.S_IMODE(vault.path(SHA256_ABC).stat().st_mode) == 0o444


def test_a_kept_file_that_was_spoilt_is_replaced_by_the_sound_bytes(vault):
    vault.put(b"abc")
    path = vault.path(SHA256_ABC)
    path.chmod(0o644)
    path.write_bytes(b"abd")
    vault.put(b"abc")
    assert path.read_bytes() == b"abc"


def test_a_source_that_cannot_be_read_is_refused_by_its_name(vault, tmp_path):
    with pytest.raises(Refused) as refusal:
        vault.put(tmp_path / "gone.jpg")
    assert (refusal.value.code, refusal.value.values["file"]) == ("store.source_unreadable", "gone.jpg")
    assert files(vault) == []


@pytest.mark.parametrize(
    ("number", "code"),
    [(errno.ENOSPC, "store.disk_full"), (errno.EDQUOT, "store.disk_full"), (errno.EROFS, "store.read_only")],
)
def test_a_disk_that_refuses_leaves_nothing_behind(vault, monkeypatch, number, code):
    def refuse(handle):
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(vault_module.os, "fsync", refuse)
    with pytest.raises(Refused) as refusal:
        vault.put(b"abc")
    assert refusal.value.code == code
    assert files(vault) == []


def test_a_missing_file_is_refused_and_a_name_that_is_no_hash_is_a_defect(vault):
    with pytest.raises(Refused, match=r"store\.photo_missing"):
        vault.open(SHA256_ABC)
    assert SHA256_ABC not in vault
    for name in ("../../etc/passwd", "", SHA256_ABC.upper()):
        with pytest.raises(ValueError, match="no SHA-256"):
            vault.path(name)


def test_a_sound_vault_verifies(vault):
    vault.put(b"abc")
    vault.put(b"")
    assert vault.verify() == ()


def test_a_flipped_bit_a_strange_file_and_a_link_are_all_told(vault, tmp_path):
    vault.put(b"abc")
    vault.put(b"")
    path = vault.path(SHA256_ABC)
    path.chmod(0o644)
    path.write_bytes(b"abb")
    (vault.folder / "ba" / "note.txt").write_text("strange")
    outside = tmp_path / "outside"
    outside.write_bytes(b"")
    link = vault.path(SHA256_EMPTY)
    link.unlink()
    link.symlink_to(outside)
    assert [(p.path, p.code) for p in vault.verify()] == [
        (f"photos/ba/{SHA256_ABC}", "store.photo_altered"),
        ("photos/ba/note.txt", "store.stranger"),
        (f"photos/e3/{SHA256_EMPTY}", "store.stranger"),
    ]


def test_a_file_in_the_wrong_place_is_told(vault):
    vault.put(b"abc")
    wrong = vault.folder / "zz"
    wrong.mkdir()
    vault.path(SHA256_ABC).rename(wrong / SHA256_ABC)
    assert [(p.path, p.code) for p in vault.verify()] == [(f"photos/zz/{SHA256_ABC}", "store.stranger")]

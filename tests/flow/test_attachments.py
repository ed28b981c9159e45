"""Files beside the photos: kept byte for byte, archived and restored with their job."""

from __future__ import annotations

import hashlib

import pytest

from condition.errors import Damaged, Refused
from condition.flow.archiving import archive_job, restore_job, verify
from condition.flow.attachments import attach, attachments_of, bytes_of, detach
from condition.flow.desk import open_desk
from condition.flow.keeping import check
from condition.records.attachment import Attachment

HUM = b"RIFF" + bytes(range(256)) * 20


def test_a_file_is_kept_byte_for_byte_and_once(desk, job):
    kept = attach(desk, job, "hum.wav", HUM, nature="sound")
    assert bytes_of(desk, kept) == HUM
    assert kept.sha256 == hashlib.sha256(HUM).hexdigest()
    assert kept.media_type.startswith("audio/")
    assert attach(desk, job, "again.wav", HUM).id == kept.id


def test_an_empty_or_missing_file_is_refused(desk, job, tmp_path):
    with pytest.raises(Refused, match=r"attachment\.empty"):
        attach(desk, job, "nothing.wav", b"")
    with pytest.raises(Refused, match=r"photos\.not_found"):
        attach(desk, job, "gone.pdf", tmp_path / "gone.pdf")


def test_a_file_taken_off_stays_in_the_vault_and_claimed(desk, job):
    kept = attach(desk, job, "hum.wav", HUM)
    detach(desk, kept)
    assert not attachments_of(desk, job)
    assert kept.sha256 in desk.store.vault
    assert not check(desk.store.folder).problems


def test_the_archive_carries_it_home(desk, job, tmp_path):
    kept = attach(desk, job, "hum.wav", HUM, nature="sound", about=job.id)
    bag = archive_job(desk, job, tmp_path / "bag")
    assert verify(bag).ok
    other = open_desk(tmp_path / "other")
    restored = restore_job(other, bag)
    (back,) = other.store.find(Attachment, job_id=restored.id)
    assert (back.id, back.nature, back.about) == (kept.id, "sound", job.id)
    assert bytes_of(other, back) == HUM


def test_an_archive_whose_file_was_swapped_is_refused(desk, job, tmp_path):
    attach(desk, job, "hum.wav", HUM)
    bag = archive_job(desk, job, tmp_path / "bag")
    (bag / "data" / "files" / "hum.wav").write_bytes(HUM[::-1])
    with pytest.raises(Damaged):
        restore_job(open_desk(tmp_path / "other"), bag)

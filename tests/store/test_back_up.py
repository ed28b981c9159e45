import sqlite3
import threading
from pathlib import Path

import pytest

from condition.errors import Damaged, Refused
from condition.records.finding import Finding
from condition.records.job import Job
from condition.records.photo import Photo
from condition.store import Store, back_up, check_store
from condition.store import backup as backup_module
from tests.store.bench_records import SHA256_ABC, found, new, opened_job, taken_in


def test_the_copy_is_a_store_with_the_same_records_and_photos(store, folder, tmp_path):
    job = opened_job(store)
    photo, finding = taken_in(store, job), found(store, job)
    assert back_up(folder, tmp_path / "disk" / "copy") == tmp_path / "disk" / "copy"
    with Store.open(tmp_path / "disk" / "copy") as copy:
        assert (copy.get(Photo, photo.id), copy.get(Finding, finding.id)) == (photo, finding)
        assert copy.history(finding.id) == store.history(finding.id)
        assert copy.vault.path(photo.sha256).read_bytes() == b"abc"
        assert found(copy, job).number == 2
    assert check_store(tmp_path / "disk" / "copy").ok


def test_the_cache_stays_behind(store, folder, tmp_path):
    (store.cache / "tile.png").write_bytes(b"pixels")
    copy = back_up(folder, tmp_path / "copy")
    assert not any(path.is_file() for path in (copy / "cache").rglob("*"))


def test_an_empty_folder_serves_as_target_and_a_full_one_is_left_alone(store, folder, tmp_path):
    empty, full = tmp_path / "empty", tmp_path / "full"
    empty.mkdir()
    full.mkdir()
    (full / "letter.txt").write_text("Dear client")
    back_up(folder, empty)
    for target in (full, empty):
        before = sorted(target.rglob("*"))
        with pytest.raises(Refused, match=r"store\.backup_not_empty"):
            back_up(folder, target)
        assert sorted(target.rglob("*")) == before


@pytest.mark.parametrize("inside", ["", "copy", "photos/copy"])
def test_a_target_inside_the_store_is_refused(store, folder, inside):
    before = sorted(folder.rglob("*"))
    with pytest.raises(Refused, match=r"store\.backup_inside"):
        back_up(folder, folder / inside)
    assert sorted(folder.rglob("*")) == before


def test_a_target_that_leads_into_the_store_by_a_link_is_refused(store, folder, tmp_path):
    (tmp_path / "link").symlink_to(folder)
    with pytest.raises(Refused, match=r"store\.backup_inside"):
        back_up(folder, tmp_path / "link" / "copy")


def test_a_file_as_target_and_a_folder_without_a_store_are_refused(store, folder, tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(Refused, match=r"store\.not_a_folder"):
        back_up(folder, tmp_path / "file")
    with pytest.raises(Refused, match=r"store\.no_store"):
        back_up(tmp_path / "nothing", tmp_path / "copy")


def test_a_damaged_photo_stops_the_backup_and_names_every_one(store, folder, tmp_path):
    job = opened_job(store)
    for data in (b"abc", b"other"):
        path = store.vault.path(taken_in(store, job, data).sha256)
        path.chmod(0o644)
        path.write_bytes(b"spoilt")
    before = set(tmp_path.iterdir())
    with pytest.raises(Damaged) as damage:
        back_up(folder, tmp_path / "copy")
    assert [p.code for p in damage.value.problems] == ["store.photo_altered", "store.photo_altered"]
    assert f"photos/ba/{SHA256_ABC}" in {p.path for p in damage.value.problems}
    assert set(tmp_path.iterdir()) == before


def test_a_copy_that_is_not_what_was_copied_is_found_and_taken_away(store, folder, tmp_path, monkeypatch):
    job = opened_job(store)
    taken_in(store, job)
    copy_database = backup_module.copy_database

    def copy_badly(database: Path, target: Path) -> None:
        copy_database(database, target)
        connection = sqlite3.connect(target, isolation_level=None)
        connection.execute("UPDATE job SET name = 'another'")
        connection.close()

    monkeypatch.setattr(backup_module, "copy_database", copy_badly)
    before = set(tmp_path.iterdir())
    with pytest.raises(Damaged) as damage:
        back_up(folder, tmp_path / "copy")
    assert [p.code for p in damage.value.problems] == ["store.not_as_logged"]
    assert set(tmp_path.iterdir()) == before


def test_a_backup_made_while_photos_come_in_is_a_sound_store_of_one_moment(store, folder, tmp_path):
    job = opened_job(store)
    stop = threading.Event()
    taken: list[str] = []

    def take_in_until_stopped() -> None:
        while not stop.is_set():
            photo = taken_in(store, job, new().encode())
            taken.append(photo.id)

    worker = threading.Thread(target=take_in_until_stopped)
    worker.start()
    try:
        while len(taken) < 5:
            stop.wait(0.01)
        acknowledged = list(taken)
        back_up(folder, tmp_path / "copy")
    finally:
        stop.set()
        worker.join()
    assert len(taken) > len(acknowledged)
    assert check_store(tmp_path / "copy").ok
    with Store.open(tmp_path / "copy") as copy:
        held = {photo.id for photo in copy.find(Photo)}
        assert set(acknowledged) <= held <= set(taken)
        assert copy.find(Job) == (job,)

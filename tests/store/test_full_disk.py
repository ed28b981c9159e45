"""A disk that takes no more: one sentence, and the store as it was."""

import resource
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
import sqlalchemy

from condition.errors import Refused
from condition.records.finding import Finding
from condition.records.photo import Photo
from condition.store import Store, back_up, check_store
from condition.words import say_error
from tests.store.bench_records import found, new, opened_job, taken_in

ROOT = Path(__file__).parents[2]

FILLING = """
import resource, sys
from uuid import uuid4
from dataclasses import replace
from condition.errors import Refused
from condition.records.finding import Finding
from condition.store import Store
from condition.words import say_error

folder, finding_id, limit = *sys.argv[1:3], int(sys.argv[3])
store = Store.open(folder)
finding = store.get(Finding, finding_id)
say_error(Refused("store.disk_full", folder=folder))
if limit:
    resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
written = 0
try:
    while True:
        with store.write(str(uuid4()), "Ada") as write:
            finding = write.put(replace(finding, observation=f"{written + 1} " + "long words " * 2000))
        written += 1
except Refused as error:
    print(written, error.code, store.get(Finding, finding_id).observation.split()[0])
    print(say_error(error))
try:
    store.vault.put(b"x" * 4_000_000)
except Refused as error:
    print(error.code)
"""


def fill(folder, finding, limit=0):
    done = subprocess.run(
        [sys.executable, "-c", FILLING, str(folder), finding.id, str(limit)], capture_output=True, text=True, cwd=ROOT
    )
    assert done.stderr == ""
    return done.stdout.splitlines()


@pytest.mark.skipif(not hasattr(resource, "RLIMIT_FSIZE"), reason="no limit on file sizes here")
def test_a_disk_that_stops_in_the_middle_of_a_write_is_told_and_what_was_acknowledged_stays(store, folder):
    finding = found(store, opened_job(store))
    result, sentence, vault = fill(folder, finding, limit=600_000)
    written, code, kept = result.split()
    assert int(written) > 3
    assert code in {"store.not_written", "store.disk_full"}
    assert kept == written
    assert sentence.startswith("The disk of ")
    assert vault == "store.disk_full"
    assert store.get(Finding, finding.id).version == int(written) + 1
    assert check_store(folder).ok
    assert not list((folder / "photos").iterdir())


@pytest.fixture
def small_disk(tmp_path):
    """A real file system of 4 MB, where the system lets one be mounted."""
    disk = tmp_path / "disk"
    disk.mkdir()
    if sys.platform != "linux" or shutil.which("mount") is None:
        pytest.skip("mounting a small disk is Linux's way here")
    mounted = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=4m", "tmpfs", str(disk)], capture_output=True)
    if mounted.returncode:
        pytest.skip("this user may not mount a file system")
    yield disk
    subprocess.run(["umount", str(disk)], check=True)


def test_a_store_on_a_full_disk_refuses_reads_on_and_writes_again_once_there_is_room(small_disk, empty_store):
    folder = shutil.copytree(empty_store, small_disk / "store")
    with Store.open(folder) as store:
        finding = found(store, opened_job(store))
        (small_disk / "ballast").write_bytes(b"0" * 2_000_000)
    result, sentence, vault = fill(folder, finding)
    written, code, kept = result.split()
    assert (int(written) > 3, code, kept, vault) == (True, "store.disk_full", written, "store.disk_full")
    assert sentence == f"The disk of {folder} is full. Make room on it, then try again; nothing was changed."
    (small_disk / "ballast").unlink()
    with Store.open(folder) as store:
        assert found(store, opened_job(store, "B-2")).number == 1
    assert check_store(folder).ok


def test_a_backup_that_does_not_fit_leaves_nothing_behind(small_disk, store, folder):
    taken_in(store, opened_job(store), b"x" * 5_000_000)
    with pytest.raises(Refused) as refusal:
        back_up(folder, small_disk / "copy")
    assert refusal.value.code == "store.disk_full"
    assert str(small_disk / "copy") in say_error(refusal.value)
    assert list(small_disk.iterdir()) == []


def test_a_database_that_may_grow_no_more_refuses_whole_operations(store, folder):
    """SQLite's own bound, PRAGMA max_page_count, answers as a full disk does (SQLITE_FULL)."""
    job = opened_job(store)
    store.close()

    @sqlalchemy.event.listens_for(store._engine, "connect")
    def _bound(connection, record):
        (pages,) = connection.execute("PRAGMA page_count").fetchone()
        connection.execute(f"PRAGMA max_page_count = {pages + 8}")

    def put_many():
        with store.write(new(), "Ada") as write:
            for _ in range(500):
                write.put(Finding(new(), job.id, write.next_number(job), "dent", observation="words " * 50))

    with pytest.raises(Refused, match=r"store\.disk_full"):
        put_many()
    assert store.find(Finding) == ()
    assert store.find(Photo) == ()
    assert found(store, job).number == 1
    assert check_store(folder).ok

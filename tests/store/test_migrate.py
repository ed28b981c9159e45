import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory

from condition.errors import Damaged, Refused
from condition.records.instrument import Instrument
from condition.records.job import Job
from condition.records.person import Person
from condition.store import Store, default_folder
from condition.store.connect import plain
from condition.store.migrate import HEAD, MARK, alembic_config, borrowed
from condition.store.schema import metadata
from condition.words import say_error
from tests.store.bench_records import opened_job, taken_in

ROOT = Path(__file__).parents[2]
ID = "6ba7b810-9dad-41d1-80b4-00c04fd430c8"


def changed(folder, statement):
    connection = sqlite3.connect(folder / "bench.sqlite", isolation_level=None)
    connection.execute(statement)
    connection.close()


def refusal(folder):
    with pytest.raises((Refused, Damaged)) as caught:
        Store.open(folder, patience_s=0.3)
    sentence = say_error(caught.value)
    assert sentence != caught.value.code
    assert "{" not in sentence
    return caught.value.code


def test_the_migrations_lead_to_the_present_tables(store):
    """Alembic's own comparison finds no difference; `python -m condition.store.draft` writes what is missing."""
    with store._engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, metadata) == []


def test_every_table_is_strict_and_references_are_checked_at_the_end_of_an_operation(store):
    with store._engine.connect() as connection:
        sql = dict(connection.exec_driver_sql("SELECT name, sql FROM sqlite_master WHERE type = 'table'").fetchall())
    sql.pop("alembic_version")
    assert all(text.rstrip().upper().endswith("STRICT") for text in sql.values())
    assert sum(text.count("REFERENCES") for text in sql.values()) == sum(
        text.count("DEFERRABLE INITIALLY DEFERRED") for text in sql.values()
    )


def test_the_newest_revision_is_the_one_the_store_asks_for():
    assert ScriptDirectory.from_config(alembic_config()).get_current_head() == HEAD


def test_a_new_store_is_made_in_a_folder_that_is_not_there_yet(tmp_path):
    folder = tmp_path / "shop" / "bench"
    with Store.open(folder) as store:
        opened_job(store)
    assert {p.name for p in folder.iterdir()} == {"bench.sqlite", "photos", "cache"}


def test_hidden_files_of_the_system_do_not_make_a_folder_full(tmp_path):
    (tmp_path / ".DS_Store").write_bytes(b"")
    Store.open(tmp_path).close()


def test_a_folder_that_holds_other_things_is_refused_and_left_as_it_is(tmp_path):
    (tmp_path / "letter.txt").write_text("Dear client")
    assert refusal(tmp_path) == "store.not_a_store"
    assert [p.name for p in tmp_path.iterdir()] == ["letter.txt"]


def test_a_file_in_place_of_the_folder_is_refused(tmp_path):
    (tmp_path / "store").write_text("")
    assert refusal(tmp_path / "store") == "store.not_a_folder"


def test_another_program_s_database_of_the_same_name_is_refused_and_left_as_it_is(tmp_path):
    changed(tmp_path, "CREATE TABLE recipes (id INTEGER)")
    before = (tmp_path / "bench.sqlite").read_bytes()
    assert refusal(tmp_path) == "store.not_a_store"
    assert (tmp_path / "bench.sqlite").read_bytes() == before


def test_a_store_of_a_newer_program_is_refused_and_left_as_it_is(folder):
    changed(folder, "UPDATE alembic_version SET version_num = '9999'")
    before = (folder / "bench.sqlite").read_bytes()
    assert refusal(folder) == "store.newer"
    assert (folder / "bench.sqlite").read_bytes() == before
    assert not (folder / "older").exists()


@pytest.mark.parametrize("accident", ["deleted", "emptied"])
def test_a_store_without_its_database_is_not_taken_for_a_new_one(folder, accident):
    (folder / "bench.sqlite").unlink()
    if accident == "emptied":
        (folder / "bench.sqlite").touch()
    assert refusal(folder) == "store.no_database"


def test_a_store_whose_making_was_cut_short_is_made_anew(tmp_path):
    (tmp_path / "bench.sqlite").touch()
    with Store.open(tmp_path) as store:
        opened_job(store)


@pytest.mark.parametrize(
    "spoil", [b"this is no database at all, though it is long enough to be read" * 20, b"SQLite f"]
)
def test_a_file_that_is_no_database_is_told_as_damaged(folder, spoil):
    (folder / "bench.sqlite").write_bytes(spoil)
    assert refusal(folder) == "store.damaged"


def test_a_store_held_by_another_program_is_told_after_the_wait(folder):
    holder = sqlite3.connect(folder / "bench.sqlite", isolation_level=None)
    holder.execute("PRAGMA locking_mode = EXCLUSIVE")
    holder.execute("BEGIN EXCLUSIVE")
    holder.execute("DELETE FROM person")
    holder.execute("COMMIT")
    assert refusal(folder) == "store.busy"
    holder.close()


def test_a_write_that_waits_too_long_is_refused_and_can_be_done_later(folder):
    with Store.open(folder, patience_s=0.3) as store:
        holder = sqlite3.connect(folder / "bench.sqlite", isolation_level=None)
        holder.execute("BEGIN IMMEDIATE")
        with pytest.raises(Refused, match=r"store\.busy"):
            opened_job(store)
        assert store.find(Job) == ()
        holder.execute("ROLLBACK")
        holder.close()
        opened_job(store)


READ_ONLY = """
import os, sys
import polib, sqlalchemy.dialects.sqlite.pysqlite
from condition.errors import Refused
from condition.store import Store
from condition.words import say_error
if os.getuid() == 0:
    os.setegid(65534)
    os.seteuid(65534)
try:
    Store.open(sys.argv[1])
except Refused as error:
    print(error.code)
    print(say_error(error))
"""


@pytest.mark.skipif(os.name == "nt", reason="takes a folder's rights away as POSIX has them")
@pytest.mark.parametrize("what", ["new", "old"])
def test_a_folder_one_may_not_write_to_is_told_in_one_sentence(empty_store, what):
    with tempfile.TemporaryDirectory() as parent:
        folder = Path(parent) / "store"
        if what == "old":
            shutil.copytree(empty_store, folder)
        else:
            folder.mkdir()
        Path(parent).chmod(0o755)
        folder.chmod(0o555)
        done = subprocess.run(
            [sys.executable, "-c", READ_ONLY, str(folder)],
            capture_output=True,
            text=True,
            cwd=ROOT,
        )
        folder.chmod(0o755)
    assert done.stderr == ""
    code, sentence = done.stdout.splitlines()
    assert code in {"store.read_only", "store.cannot_open"}
    assert str(folder) in sentence


def left_at(folder, revision):
    """Make a store as the program of that revision left it; returns the open connection to its database."""
    folder.mkdir()
    config = alembic_config()
    connection = plain(folder / "bench.sqlite", 1, create=True)
    with borrowed(connection) as config.attributes["connection"]:
        command.upgrade(config, revision)
    connection.execute(f"PRAGMA application_id = {MARK}")
    return connection


@pytest.fixture
def older(tmp_path):
    """A store as the program of one migration back left it, with one person in it."""
    folder = tmp_path / "older store"
    connection = left_at(folder, ScriptDirectory.from_config(alembic_config()).get_revision(HEAD).down_revision)
    connection.execute(
        "INSERT INTO person (id, name, role, version, placed) VALUES (?, 'Marta Quill', 'own', 1, 1)", [ID]
    )
    connection.close()
    return folder


def dump(database):
    connection = sqlite3.connect(database)
    lines = list(connection.iterdump())
    connection.close()
    return lines


def test_an_older_store_is_brought_up_and_its_database_kept_as_it_was(older):
    before = dump(older / "bench.sqlite")
    with Store.open(older) as store:
        assert store.get(Person, ID) == Person(ID, "Marta Quill", "own", version=1)
        taken_in(store, opened_job(store))
    (copy,) = (older / "older").iterdir()
    assert dump(copy) == before
    assert dump(older / "bench.sqlite") != before


def test_instruments_kept_before_anyone_said_how_they_are_strung_are_right_handed(tmp_path):
    connection = left_at(tmp_path / "store", "0005")
    connection.execute(
        "INSERT INTO instrument (id, title, family, string_length_mm, version, placed) VALUES (?, ?, ?, ?, 3, 1)",
        [ID, "Mandola, oval hole", "mandola", 420.5],
    )
    connection.execute(
        "INSERT INTO job (id, name, instrument_id, version, placed) VALUES (?, 'B-1', ?, 1, 2)", [ID, ID]
    )
    connection.close()
    kept = Instrument(ID, "Mandola, oval hole", "mandola", string_length_mm=420.5, version=3)
    with Store.open(tmp_path / "store") as store:
        assert store.get(Instrument, ID) == kept
        assert store.get(Instrument, ID).handedness == "right"
        assert store.get(Job, ID).instrument_id == ID
        with store.write(ID, "Ada") as work:
            work.put(replace(kept, handedness="left"))
    with Store.open(tmp_path / "store") as store:
        assert store.get(Instrument, ID) == replace(kept, handedness="left", version=4)


def test_a_migration_that_ends_badly_leaves_the_store_as_it_was(older):
    changed(older, f"INSERT INTO job (id, name, instrument_id, version, placed) VALUES ('{ID}', 'B-1', 'none', 1, 1)")
    before = dump(older / "bench.sqlite")
    assert refusal(older) == "store.migration_failed"
    assert dump(older / "bench.sqlite") == before


def test_eight_openings_of_a_new_folder_at_once_make_one_store(tmp_path):
    with ThreadPoolExecutor(8) as pool:
        stores = list(pool.map(lambda _: Store.open(tmp_path / "store"), range(8)))
    job = opened_job(stores[0])
    assert all(store.get(Job, job.id) == job for store in stores)
    for store in stores:
        store.close()


def test_stores_made_in_several_folders_at_once_do_not_meet(tmp_path):
    """Alembic keeps the migration it runs in a module: two at a time in one program would mix."""
    folders = [tmp_path / str(number) for number in range(6)]
    with ThreadPoolExecutor(6) as pool:
        stores = list(pool.map(Store.open, folders))
    for number, store in enumerate(stores):
        assert store.find(Job) == ()
        opened_job(store, f"B-{number}")
        assert [job.name for job in store.find(Job)] == [f"B-{number}"]
        store.close()


def test_opening_a_store_that_is_up_to_date_loads_no_migrations(folder):
    code = (
        "import sys, condition.store; assert 'sqlalchemy' not in sys.modules; "
        f"condition.store.Store.open({str(folder)!r}); assert 'alembic' not in sys.modules; print('light')"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT)
    assert (done.stdout, done.stderr) == ("light\n", "")


def test_the_default_folder_is_the_variable_s_or_the_user_s_data(monkeypatch, tmp_path):
    monkeypatch.setenv("CONDITION_STORE", str(tmp_path))
    assert default_folder() == tmp_path
    monkeypatch.delenv("CONDITION_STORE")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    if sys.platform == "linux":
        # XDG Base Directory Specification 0.8: $XDG_DATA_HOME holds user-specific data files
        assert default_folder() == tmp_path / "data" / "condition" / "store"

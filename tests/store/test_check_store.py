import os
import sqlite3
import time
from dataclasses import replace

import pytest

from condition.errors import Refused
from condition.records.task import Task, TaskItem
from condition.store import check_store
from condition.words import say_error
from tests.store.bench_records import SHA256_ABC, found, marked, new, opened_job, taken_in


@pytest.fixture
def filled(store, folder):
    """The folder of a small job's store, closed, with the photo ``abc``, a finding and a mark."""
    job = opened_job(store)
    marked(store, taken_in(store, job), found(store, job))
    store.close()
    return folder


def spoil(folder, *statements):
    connection = sqlite3.connect(folder / "bench.sqlite", isolation_level=None)
    for statement in statements:
        connection.execute(statement)
    connection.close()


def codes(problems):
    assert all("{" not in say_error(p) and say_error(p) != p.code for p in problems)
    return [p.code for p in problems]


def old(path, hours=2.0):
    then = time.time() - hours * 3600
    os.utime(path, (then, then))


def test_a_sound_store_has_no_problems_and_nothing_to_note(filled):
    checked = check_store(filled)
    assert (checked.ok, checked.problems, checked.notes) == (True, (), ())


def test_a_folder_without_a_store_is_refused_and_none_is_made(tmp_path):
    with pytest.raises(Refused, match=r"store\.no_store"):
        check_store(tmp_path / "nothing")
    assert not (tmp_path / "nothing").exists()


def test_a_page_of_the_database_overwritten_is_told(filled):
    path = filled / "bench.sqlite"
    data = bytearray(path.read_bytes())
    page = 4096 * 5
    data[page : page + 4096] = b"\xa5" * 4096
    path.write_bytes(data)
    checked = check_store(filled)
    assert not checked.ok
    assert set(codes(checked.problems)) <= {"store.integrity", "store.damaged"}


@pytest.mark.parametrize("length", [0, 50, 5000])
def test_a_database_cut_short_is_told(filled, length):
    path = filled / "bench.sqlite"
    path.write_bytes(path.read_bytes()[:length])
    checked = check_store(filled)
    assert not checked.ok
    assert set(codes(checked.problems)) <= {"store.integrity", "store.damaged", "store.no_database"}


def test_a_value_changed_behind_the_log_s_back_is_told(filled):
    spoil(filled, "UPDATE finding SET observation = 'much longer'")
    (problem,) = check_store(filled).problems
    assert problem.code == "store.not_as_logged"
    assert problem.path.startswith("bench.sqlite/finding/")


def test_a_row_that_is_no_record_is_told_with_the_field(filled):
    spoil(filled, """UPDATE mark SET shape_px = '{"shape": "line", "points": [[1, 2]]}'""")
    (problem,) = check_store(filled).problems
    assert problem.code == "store.row_wrong"
    assert "shape_px" in say_error(problem)


def test_a_row_that_vanished_is_told(filled):
    spoil(filled, "DELETE FROM mark")
    assert codes(check_store(filled).problems) == ["store.row_lost"]


def test_a_reference_to_nothing_is_told(filled):
    spoil(filled, "PRAGMA foreign_keys = OFF", "DELETE FROM finding")
    assert "store.loose_reference" in codes(check_store(filled).problems)


def test_a_log_that_was_opened_for_alteration_is_told(filled):
    spoil(filled, "DROP TRIGGER log_no_delete")
    (problem,) = check_store(filled).problems
    assert (problem.path, problem.code) == ("bench.sqlite/log", "store.log_open")


def test_every_problem_is_told_at_once(filled):
    spoil(filled, "UPDATE finding SET observation = 'much longer'", "DELETE FROM mark")
    path = filled / "photos" / "ba" / SHA256_ABC
    path.chmod(0o644)
    path.write_bytes(b"abd")
    assert sorted(codes(check_store(filled).problems)) == [
        "store.not_as_logged",
        "store.photo_altered",
        "store.row_lost",
    ]


def test_a_missing_photo_is_told_also_when_only_the_log_knows_it(store, folder):
    job = opened_job(store)
    kept, removed = taken_in(store, job, b"kept"), taken_in(store, job, b"removed")
    with store.write(new(), "Ada") as write:
        write.remove(removed)
    assert check_store(folder).ok
    for photo in (kept, removed):
        store.vault.path(photo.sha256).unlink()
    checked = check_store(folder)
    assert codes(checked.problems) == ["store.photo_missing", "store.photo_missing"]
    assert {p.path.rsplit("/", 1)[1] for p in checked.problems} == {kept.sha256, removed.sha256}


def test_bytes_no_photo_refers_to_are_noted_and_kept(store, folder):
    sha256 = store.vault.put(b"on its way in")
    assert check_store(folder).notes == ()
    old(store.vault.path(sha256))
    checked = check_store(folder)
    assert checked.ok
    assert codes(checked.notes) == ["store.unclaimed"]
    assert sha256 in store.vault


def test_files_never_finished_are_removed_once_nobody_writes_them(filled):
    (filled / "cache" / "tiles").mkdir()
    names = ["photos/.new-abcd", "cache/tiles/.new-1", "cache/tiles/2.tmp", "cache/tiles/3.part", "cache/tiles/4.png"]
    for name in names:
        (filled / name).write_bytes(b"")
    whole = filled / "cache" / "tiles" / "5.png"
    whole.write_bytes(b"whole")
    old(whole)
    assert check_store(filled).notes == ()
    for name in names:
        old(filled / name)
    checked = check_store(filled)
    assert checked.ok
    assert sorted(note.path for note in checked.notes) == sorted(names)
    assert set(codes(checked.notes)) == {"store.leftover_removed"}
    assert [path.name for path in (filled / "cache").rglob("*.*")] == ["5.png"]


def test_files_that_wait_for_a_running_task_stay_and_forgotten_ones_go(store, folder):
    job = opened_job(store)
    (folder / "arriving").mkdir()
    for name in ("waits.jpg", "done.jpg"):
        (folder / "arriving" / name).write_bytes(b"abc")
        old(folder / "arriving" / name)
    with store.write(new(), "Ada") as write:
        running = write.put(Task(new(), job.id, items=(TaskItem("top.jpg", "arriving/waits.jpg"),)))
        write.put(Task(new(), job.id, state="done", items=(TaskItem("back.jpg", "arriving/done.jpg", True),)))
    assert [note.path for note in check_store(folder).notes] == ["arriving/done.jpg"]
    with store.write(new(), "Ada") as write:
        write.put(replace(running, state="stopped"))
    assert [note.path for note in check_store(folder).notes] == ["arriving/waits.jpg"]


def test_a_strange_file_beside_the_database_is_noted_and_kept(filled):
    (filled / "letter.txt").write_text("Dear client")
    checked = check_store(filled)
    assert checked.ok
    assert [(n.path, n.code) for n in checked.notes] == [("letter.txt", "store.stranger")]
    assert (filled / "letter.txt").exists()


def test_a_deleted_cache_is_made_again(filled):
    (filled / "cache").rmdir()
    assert check_store(filled).ok
    assert (filled / "cache").is_dir()


def test_a_photo_replaced_by_a_link_is_told_as_missing_and_a_stray_file_beside_it_is_noted(filled, tmp_path):
    path = filled / "photos" / "ba" / SHA256_ABC
    path.unlink()
    (tmp_path / "elsewhere").write_bytes(b"abc")
    path.symlink_to(tmp_path / "elsewhere")
    (filled / "photos" / "Thumbs.db").write_bytes(b"")
    checked = check_store(filled)
    assert [(p.path, p.code) for p in checked.problems] == [(f"photos/ba/{SHA256_ABC}", "store.photo_missing")]
    assert {n.path for n in checked.notes} == {f"photos/ba/{SHA256_ABC}", "photos/Thumbs.db"}

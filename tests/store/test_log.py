import sqlite3

import pytest

from condition.records.finding import Finding
from condition.store.rows import as_json
from tests.store.bench_records import found, new, opened_job


def database(store):
    return sqlite3.connect(store.folder / "bench.sqlite", isolation_level=None)


def test_every_change_is_told_with_operation_time_person_and_both_sides(store):
    job = opened_job(store)
    first, second, third = new(), new(), new()
    with store.write(first, "Ada") as write:
        put = write.put(Finding(new(), job.id, write.next_number(job), "crack"))
    with store.write(second, "Ben") as write:
        changed = write.put(Finding(put.id, job.id, 1, "open seam", version=1))
    with store.write(third, "Cleo") as write:
        write.remove(changed)
    changes = store.history(put.id)
    assert [(c.operation, c.person, c.kind, c.record_id) for c in changes] == [
        (first, "Ada", "finding", put.id),
        (second, "Ben", "finding", put.id),
        (third, "Cleo", "finding", put.id),
    ]
    assert [(c.before, c.after) for c in changes] == [
        (None, as_json(put)),
        (as_json(put), as_json(changed)),
        (as_json(changed), None),
    ]
    assert [c.sequence for c in changes] == sorted(c.sequence for c in changes)
    assert all(c.at.startswith("2024-03-01T09:0") and c.at.endswith("Z") for c in changes)


def test_a_write_that_fails_leaves_no_line_in_the_log(store):
    job = opened_job(store)
    finding = found(store, job)

    def fail_half_way():
        with store.write(new(), "Ada") as write:
            write.remove(finding)
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        fail_half_way()
    assert len(store.history(finding.id)) == 1


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE log SET person = 'nobody'",
        "DELETE FROM log",
        "INSERT OR REPLACE INTO log SELECT sequence, operation, at, 'nobody', kind, record_id, before, after FROM log",
        "UPDATE operation SET answer = '1'",
        "DELETE FROM operation",
        "REPLACE INTO operation SELECT id, at, person, '1' FROM operation",
        "UPDATE number SET number = number + 10",
        "DELETE FROM number",
        "REPLACE INTO number SELECT job_id, number, 'another' FROM number",
    ],
)
def test_what_happened_cannot_be_altered_by_any_statement(store, statement):
    found(store, opened_job(store))
    connection = database(store)
    tables = ("log", "operation", "number")
    before = [connection.execute(f"SELECT * FROM {table}").fetchall() for table in tables]
    with pytest.raises(sqlite3.IntegrityError, match="append-only"):
        connection.execute(statement)
    assert [connection.execute(f"SELECT * FROM {table}").fetchall() for table in tables] == before
    assert all(before)
    connection.close()


def test_each_connection_waits_for_the_disk_and_holds_foreign_keys(store):
    with store._engine.connect() as connection:
        pragmas = {
            name: connection.exec_driver_sql(f"PRAGMA {name}").scalar()
            for name in ("journal_mode", "synchronous", "foreign_keys", "busy_timeout")
        }
    # SQLite documentation, pragma.html: synchronous 2 is FULL; busy_timeout in milliseconds
    assert pragmas == {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1, "busy_timeout": 5000}

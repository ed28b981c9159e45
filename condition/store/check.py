"""Is the store sound? Every problem is told; what can be mended without losing anything is mended."""

from __future__ import annotations

import json
import os
import sqlite3
import time
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, text

from condition.errors import ConditionError, Damaged, InvalidRecord, Problem, Refused
from condition.store.codec import codec
from condition.store.connect import engine_for, plain
from condition.store.kinds import KINDS, Kind
from condition.store.migrate import prepare
from condition.store.places import ARRIVING, CACHE, DATABASE, PHOTOS, strangers
from condition.store.rows import from_row
from condition.store.schema import APPEND_ONLY
from condition.store.vault import TEMPORARY, Vault

LEFTOVER_AGE_S = 3600.0
"""A file that is not whole is a leftover when nothing was written to it for so long (seconds)."""

_HALF_WRITTEN = (".tmp", ".part")


@dataclass(frozen=True, slots=True)
class Checked:
    """problems : what is wrong and needs a person; notes : what was mended, and what is odd but harms nothing"""

    problems: tuple[Problem, ...] = ()
    notes: tuple[Problem, ...] = ()

    @property
    def ok(self) -> bool:
        return not self.problems


def check_store(folder: Path, *, patience_s: float = 15.0, leftover_age_s: float = LEFTOVER_AGE_S) -> Checked:
    """Check database, references, log and every photo's bytes, and clear leftovers away; safe while in use.

    Raises
    ------
    Refused
        There is no store in the folder, it cannot be read by this user, or it was written by a newer program.
    """
    folder = Path(folder).absolute()
    if not (folder / DATABASE).is_file():
        raise Refused("store.no_store", folder=str(folder))
    problems: list[Problem] = []
    known: _Known | None = None
    try:
        database = prepare(folder, patience_s)
        problems += _sound(database, patience_s)
        if not problems:
            known = _records(database, patience_s)
            problems += known.problems
    except Damaged as error:
        problems.append(_as_problem(error))
    except sqlite3.DatabaseError as error:
        problems.append(Problem(DATABASE, "store.integrity", (("found", str(error)),)))
    vault = Vault(folder / PHOTOS)
    in_vault = vault.verify()
    problems += [problem for problem in in_vault if problem.code != "store.stranger"]
    notes = [problem for problem in in_vault if problem.code == "store.stranger"]
    notes += [Problem(name, "store.stranger") for name in strangers(folder)]
    notes += _clear(folder, _half_written(folder), leftover_age_s)
    if known is not None:
        kept = set(vault)
        missing = sorted(known.photos - kept)
        problems += [Problem(_in_vault(sha), "store.photo_missing", (("sha256", sha),)) for sha in missing]
        unclaimed = [sha for sha in sorted(kept - known.photos) if _age_s(vault.path(sha)) > leftover_age_s]
        notes += [Problem(_in_vault(sha), "store.unclaimed") for sha in unclaimed]
        arrived = [path for path in (folder / ARRIVING).glob("*") if f"{ARRIVING}/{path.name}" not in known.waiting]
        notes += _clear(folder, arrived, leftover_age_s)
    return Checked(tuple(problems), tuple(notes))


def _as_problem(error: ConditionError) -> Problem:
    return Problem(DATABASE, error.code, error.named)


def _sound(database: Path, patience_s: float) -> list[Problem]:
    """SQLite's own checks, and that the append-only tables are still closed."""
    connection = plain(database, patience_s)
    try:
        found = [line for (line,) in connection.execute("PRAGMA integrity_check") if line != "ok"]
        problems = [Problem(DATABASE, "store.integrity", (("found", line),)) for line in found]
        for table, _, parent, _ in connection.execute("PRAGMA foreign_key_check"):
            problems.append(Problem(f"{DATABASE}/{table}", "store.loose_reference", (("reference", parent),)))
        triggers = {name for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")}
    finally:
        connection.close()
    for table in APPEND_ONLY:
        if not {f"{table.name}_no_{event}" for event in ("update", "delete", "replace")} <= triggers:
            problems.append(Problem(f"{DATABASE}/{table.name}", "store.log_open"))
    return problems


@dataclass(frozen=True, slots=True)
class _Known:
    """What the records say: problems found, the SHA-256 of every photo there is or was, files that wait for a task."""

    problems: tuple[Problem, ...]
    photos: frozenset[str]
    waiting: frozenset[str]


def _records(database: Path, patience_s: float) -> _Known:
    """Every row is a record, and the one the log last saw."""
    engine = engine_for(database, patience_s)
    try:
        with engine.connect() as connection:
            problems = [problem for kind in KINDS for problem in _kind(connection, kind)]
            problems += _numbers(connection)
            photos = connection.execute(
                text(
                    "SELECT sha256 FROM photo UNION SELECT sha256 FROM attachment UNION "
                    "SELECT json_extract(after, '$.sha256') FROM log "
                    "WHERE kind IN ('photo', 'attachment') AND after IS NOT NULL"
                )
            )
            waiting = connection.execute(
                text("SELECT json_extract(value, '$.path') FROM task, json_each(task.items) WHERE state = 'running'")
            )
            return _Known(tuple(problems), frozenset(photos.scalars()), frozenset(waiting.scalars()))
    finally:
        engine.dispose()


def _kind(connection: Connection, kind: Kind) -> Iterator[Problem]:
    last = "(SELECT max(sequence) FROM log WHERE record_id = {id})"
    rows = connection.execute(
        text(f'SELECT t.*, l."after" AS last_seen FROM "{kind.name}" t '
             f"LEFT JOIN log l ON l.sequence = {last.format(id='t.id')}")
    )  # fmt: skip
    for row in rows.mappings():
        where = f"{DATABASE}/{kind.name}/{row['id']}"
        try:
            record = from_row(kind.record, row)
        except InvalidRecord as error:
            yield Problem(where, "store.row_wrong", (("why", str(error.values["why"])),))
            continue
        if not _as_logged(kind, record, row["last_seen"]):
            yield Problem(where, "store.not_as_logged")
    lost = connection.execute(
        text(f'SELECT l.record_id FROM log l WHERE l.kind = :kind AND l."after" IS NOT NULL '
             f"AND l.sequence = {last.format(id='l.record_id')} "
             f'AND NOT EXISTS (SELECT 1 FROM "{kind.name}" t WHERE t.id = l.record_id)'),
        {"kind": kind.name},
    )  # fmt: skip
    for (record_id,) in lost:
        yield Problem(f"{DATABASE}/{kind.name}/{record_id}", "store.row_lost")


def _as_logged(kind: Kind, record: Any, last_seen: str | None) -> bool:
    if last_seen is None:
        return False
    try:
        logged = codec(kind.record).decode(json.loads(last_seen))
    except (InvalidRecord, ValueError):
        return False
    names = [field.name for field in fields(kind.record) if field.name not in kind.never_lower]
    return all(getattr(record, name) == getattr(logged, name) for name in names)


def _numbers(connection: Connection) -> list[Problem]:
    unclaimed = connection.execute(
        text(
            "SELECT f.id FROM finding f LEFT JOIN number n "
            "ON n.job_id = f.job_id AND n.number = f.number AND n.finding_id = f.id WHERE n.finding_id IS NULL"
        )
    )
    return [Problem(f"{DATABASE}/finding/{record_id}", "store.number_loose") for (record_id,) in unclaimed]


def _half_written(folder: Path) -> Iterator[Path]:
    """Yield files that were being written in the vault or in the cache, by their names, and empty ones in the cache."""
    yield from (folder / PHOTOS).rglob(f"{TEMPORARY}*")
    for path in (folder / CACHE).rglob("*"):
        half = path.name.startswith(TEMPORARY) or path.suffix in _HALF_WRITTEN
        if path.is_file() and (half or path.stat().st_size == 0):
            yield path


def _clear(folder: Path, leftovers: Iterable[Path], age_s: float) -> list[Problem]:
    """Remove those files that nobody is writing any more."""
    notes = []
    for path in list(leftovers):
        if path.is_file() and _age_s(path) > age_s:
            path.unlink(missing_ok=True)
            notes.append(Problem(path.relative_to(folder).as_posix(), "store.leftover_removed"))
    return notes


def _in_vault(sha256: str) -> str:
    return f"{PHOTOS}/{sha256[:2]}/{sha256}"


def _age_s(path: Path) -> float:
    try:
        return time.time() - os.stat(path).st_mtime
    except FileNotFoundError:
        return 0.0

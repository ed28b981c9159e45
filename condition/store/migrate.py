"""Bring a database to the present form, or make a new one; Alembic is loaded only when there is something to do."""

from __future__ import annotations

import sqlite3
import threading
import time
from datetime import UTC, datetime
from pathlib import Path

from condition.errors import Damaged, Refused
from condition.store.connect import plain
from condition.store.places import CACHE, DATABASE, OLDER, PHOTOS, strangers
from condition.store.told import told

HEAD = "0006"
"""The newest revision in ``migrations/versions``."""

MARK = 0x62_65_6E_63
"""SQLite's application_id of a bench database ('benc')."""

MIGRATIONS = Path(__file__).parent / "migrations"
_one_at_a_time = threading.Lock()


def prepare(folder: Path, patience_s: float) -> Path:
    """Return the path of the folder's database, made or brought up to the present form.

    Raises
    ------
    Refused
        The folder holds other things, cannot be written, or its store was written by a newer program.
    Damaged
        The database cannot be read, or it is missing beside its photos.
    """
    database = folder / DATABASE
    with told(folder):
        _look_at(folder)
        if not (database.exists() and _revision(database, patience_s) == HEAD):
            with _one_at_a_time:
                _bring_up(folder, patience_s)
        for name in (PHOTOS, CACHE):
            (folder / name).mkdir(exist_ok=True)
    return database


def _look_at(folder: Path) -> None:
    if folder.exists() and not folder.is_dir():
        raise Refused("store.not_a_folder", folder=str(folder))
    folder.mkdir(parents=True, exist_ok=True)
    in_use = _in_use(folder)
    if (folder / DATABASE).exists():
        return
    if others := strangers(folder):
        raise Refused("store.not_a_store", folder=str(folder), found=others[0])
    if in_use:
        raise Damaged("store.no_database", folder=str(folder))


def _in_use(folder: Path) -> bool:
    """Say whether the folder held a whole database before: its photos' folder is made after that, and only then.

    Ask this before looking at the database, which another program may be making at this moment.
    """
    return (folder / PHOTOS).exists()


def _revision(database: Path, patience_s: float) -> str | None:
    """Return the database's revision, None for one that is still empty."""
    connection = plain(database, patience_s)
    try:
        return _revision_in(connection, database)
    finally:
        connection.close()


def _revision_in(connection: sqlite3.Connection, database: Path) -> str | None:
    tables = {name for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
    if not tables:
        return None
    (mark,) = connection.execute("PRAGMA application_id").fetchone()
    if mark != MARK or "alembic_version" not in tables:
        raise Refused("store.not_a_store", folder=str(database.parent), found=database.name)
    row = connection.execute("SELECT version_num FROM alembic_version").fetchone()
    return row[0] if row else None


def _bring_up(folder: Path, patience_s: float) -> None:
    database = folder / DATABASE
    in_use = _in_use(folder)
    connection = plain(database, patience_s, create=True)
    try:
        _write_ahead(connection, folder, patience_s)
        connection.execute("PRAGMA foreign_keys = OFF")
        connection.execute("BEGIN IMMEDIATE")
        try:
            found = _revision_in(connection, database)
            if found is None and in_use:
                raise Damaged("store.no_database", folder=str(folder))
            if found != HEAD:
                _step_up(connection, found, folder)
            connection.execute("COMMIT")
        except BaseException:
            if connection.in_transaction:
                connection.execute("ROLLBACK")
            raise
    finally:
        connection.close()


def _write_ahead(connection: sqlite3.Connection, folder: Path, patience_s: float) -> None:
    """Set write-ahead logging; two programs that set it at the same moment meet an error no busy handler waits for."""
    until = time.monotonic() + patience_s
    while True:
        try:
            (mode,) = connection.execute("PRAGMA journal_mode = WAL").fetchone()
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY or time.monotonic() > until:
                raise
            time.sleep(0.02)
            continue
        if mode != "wal":
            raise Refused("store.no_wal", folder=str(folder))
        return


def _step_up(connection: sqlite3.Connection, found: str | None, folder: Path) -> None:
    """Run the migrations inside the connection's open transaction."""
    from alembic import command
    from alembic.script import ScriptDirectory

    config = alembic_config()
    if found is None:
        connection.execute(f"PRAGMA application_id = {MARK}")
    else:
        known = {script.revision for script in ScriptDirectory.from_config(config).walk_revisions()}
        if found not in known:
            raise Refused("store.newer", folder=str(folder))
        _keep_older(folder, found)
    with borrowed(connection) as config.attributes["connection"]:
        command.upgrade(config, "head")
    if connection.execute("PRAGMA foreign_key_check").fetchone():
        raise Refused("store.migration_failed", folder=str(folder))


def borrowed(connection: sqlite3.Connection):
    """Return a SQLAlchemy connection over an open one; its begin and commit leave the open transaction alone."""
    import sqlalchemy

    engine = sqlalchemy.create_engine("sqlite://", creator=lambda: connection, poolclass=sqlalchemy.pool.StaticPool)
    engine.dialect.do_begin = engine.dialect.do_commit = engine.dialect.do_rollback = lambda _: None
    engine.dialect.do_close = lambda _: None
    return engine.connect()


def alembic_config():
    """Return Alembic's settings; they need no file."""
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    return config


def _keep_older(folder: Path, revision: str) -> None:
    from condition.store.backup import copy_database

    (folder / OLDER).mkdir(exist_ok=True)
    stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%SZ")
    copy_database(folder / DATABASE, folder / OLDER / f"bench-{revision}-{stamp}.sqlite")

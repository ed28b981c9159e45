"""Connections to the database: how each one is set, and the engine that hands them out."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from sqlalchemy import Engine

WRITES = "store_writes"
"""Execution option of a connection whose transaction takes the write lock at its start."""


def plain(database: Path, patience_s: float, *, create: bool = False) -> sqlite3.Connection:
    """Return a bare connection in autocommit; without ``create`` a missing file is an error, never a new database."""
    mode = "rwc" if create else "rw"
    connection = sqlite3.connect(
        f"{database.absolute().as_uri()}?mode={mode}",
        uri=True,
        timeout=patience_s,
        isolation_level=None,
        check_same_thread=False,
    )
    try:
        _set(connection)
    except BaseException:
        connection.close()
        raise
    return connection


def engine_for(database: Path, patience_s: float) -> Engine:
    """Return the engine: WAL is the file's own, each commit waits for the disk, foreign keys hold."""
    import sqlalchemy

    engine = sqlalchemy.create_engine(
        "sqlite://",
        creator=lambda: plain(database, patience_s),
        poolclass=sqlalchemy.QueuePool,
        pool_size=8,
        max_overflow=24,
        pool_timeout=patience_s,
    )

    @sqlalchemy.event.listens_for(engine, "begin")
    def _begin(connection: Any) -> None:
        writes = connection.get_execution_options().get(WRITES, False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

    return engine


def _set(connection: sqlite3.Connection) -> None:
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute("PRAGMA trusted_schema = OFF")

"""What the database and the disk complain of, told as one refusal that says what to do."""

from __future__ import annotations

import errno
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from condition.errors import Damaged, Refused

_FULL = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}
_NOT_WRITTEN = {
    sqlite3.SQLITE_IOERR_WRITE,
    sqlite3.SQLITE_IOERR_FSYNC,
    sqlite3.SQLITE_IOERR_DIR_FSYNC,
    sqlite3.SQLITE_IOERR_TRUNCATE,
    sqlite3.SQLITE_IOERR_SHMSIZE,
    sqlite3.SQLITE_IOERR_SHMMAP,
    sqlite3.SQLITE_IOERR_SHMOPEN,
}
_NOT_ALLOWED = {errno.EACCES, errno.EPERM, errno.EROFS}


@contextmanager
def told(folder: Path) -> Iterator[None]:
    """Turn the errors of SQLite and of the file system under ``folder`` into Refused or Damaged."""
    try:
        with told_by_database(folder):
            yield
    except OSError as error:
        raise _of_system(error, folder) from error


@contextmanager
def told_by_database(folder: Path) -> Iterator[None]:
    """Turn the errors of SQLite, bare or as SQLAlchemy wraps them, into Refused or Damaged; others pass."""
    try:
        yield
    except Exception as error:
        original = error if isinstance(error, sqlite3.Error) else getattr(error, "orig", None)
        if isinstance(original, sqlite3.Error):
            raise _of_sqlite(original, folder) from error
        if type(error).__module__ == "sqlalchemy.exc" and type(error).__name__ == "TimeoutError":
            raise Refused("store.busy", folder=str(folder)) from error
        raise


def _of_sqlite(error: sqlite3.Error, folder: Path) -> Exception:
    code = getattr(error, "sqlite_errorcode", None)
    if code is None:
        return error
    where = {"folder": str(folder)}
    if code in _NOT_WRITTEN:
        return Refused("store.not_written", **where)
    match code & 0xFF:
        case sqlite3.SQLITE_FULL:
            return Refused("store.disk_full", **where)
        case sqlite3.SQLITE_BUSY | sqlite3.SQLITE_LOCKED:
            return Refused("store.busy", **where)
        case sqlite3.SQLITE_READONLY | sqlite3.SQLITE_PERM:
            return Refused("store.read_only", **where)
        case sqlite3.SQLITE_CANTOPEN | sqlite3.SQLITE_AUTH:
            return Refused("store.cannot_open", **where)
        case sqlite3.SQLITE_CORRUPT | sqlite3.SQLITE_NOTADB:
            return Damaged("store.damaged", **where)
        case sqlite3.SQLITE_IOERR:
            return Damaged("store.unreadable", **where)
    return error


def _of_system(error: OSError, folder: Path) -> Exception:
    if error.errno in _FULL:
        return Refused("store.disk_full", folder=str(folder))
    if error.errno in _NOT_ALLOWED:
        return Refused("store.read_only", folder=str(folder))
    return Refused("store.no_access", folder=str(folder), why=error.strerror or type(error).__name__)

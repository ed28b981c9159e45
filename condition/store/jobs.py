"""The store: records in and out, one transaction a call. Safe to share between threads and between programs."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, TypeVar

from sqlalchemy import Connection

from condition.errors import Refused
from condition.store import log, read
from condition.store.connect import WRITES, engine_for
from condition.store.migrate import prepare
from condition.store.places import CACHE, PHOTOS
from condition.store.refusals import AlreadyDone
from condition.store.search import Hit, search
from condition.store.told import told_by_database
from condition.store.vault import Vault
from condition.store.write import Write, require_uuid

R = TypeVar("R")
Clock = Callable[[], datetime]

PATIENCE_S = 15.0
"""How long a write waits for another one, in this program or another, before it is refused."""


def utc_now() -> datetime:
    return datetime.now(UTC)


class Store:
    """One folder: the database, the vault of photos, and a cache that may be deleted at any time.

    folder : the store's folder
    vault : the photos' bytes, by SHA-256
    """

    def __init__(self, folder: Path, engine: Any, clock: Clock, patience_s: float) -> None:
        self.folder = folder
        self.vault = Vault(folder / PHOTOS)
        self._engine = engine
        self._clock = clock
        self._patience_s = patience_s
        self._turn = threading.Lock()
        self._writer: int | None = None

    @classmethod
    def open(cls, folder: Path | str, *, clock: Clock = utc_now, patience_s: float = PATIENCE_S) -> Store:
        """Open the store of a folder; make it when the folder is empty or not there; bring an older one up to date.

        Raises
        ------
        Refused
            The folder holds other things or cannot be written, the store is locked or was written by a newer program.
        Damaged
            The database cannot be read.
        """
        folder = Path(folder).absolute()
        database = prepare(folder, patience_s)
        return cls(folder, engine_for(database, patience_s), clock, patience_s)

    @property
    def cache(self) -> Path:
        """The folder of pictures that can be made again."""
        return self.folder / CACHE

    def close(self) -> None:
        """Close all connections; the store may be used again, they are opened anew."""
        self._engine.dispose()

    def __enter__(self) -> Store:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def now(self) -> str:
        """Return the time: UTC, ISO 8601 with milliseconds and Z."""
        return self._clock().astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")

    def get(self, record: type[R], record_id: str) -> R:
        """Return the record of this id.

        Raises
        ------
        Refused
            ``store.unknown``: there is none.
        """
        with self._reading() as connection:
            return read.get(connection, record, record_id)

    def find(self, record: type[R], **equal: Any) -> tuple[R, ...]:
        """Return all records with these values: ``find(Photo, job_id=job.id, occasion=("intake", "out"))``.

        Findings come by number, photos by place on the sheet, jobs by the time they were opened, people by name,
        instruments by title; marks and views in the order they were first put.
        """
        with self._reading() as connection:
            return read.find(connection, record, **equal)

    def one(self, record: type[R], **equal: Any) -> R | None:
        """Return the one record with these values, None when there is none; ValueError when there are several."""
        with self._reading() as connection:
            return read.one(connection, record, **equal)

    def search(self, words: str) -> dict[str, tuple[Hit, ...]]:
        """Return the jobs in which every word stands somewhere; see :func:`condition.store.search.search`."""
        with self._reading() as connection:
            return search(connection, words)

    def history(self, record_id: str) -> tuple[log.Change, ...]:
        """Return all changes of a record, the first one first; a removed record's too."""
        with self._reading() as connection:
            return log.history(connection, record_id)

    def answered(self, operation: str) -> Any:
        """Return what an operation answered, None when it was never done (``{}`` when it had nothing to say)."""
        with self._reading() as connection:
            return log.answered(connection, operation)

    @contextmanager
    def write(self, operation: str, person: str) -> Iterator[Write]:
        """Do one operation: all of it is on the disk when the block ends, or nothing of it.

        Parameters
        ----------
        operation : a UUID the caller made; the same one again means the same operation, asked twice
        person : who acts, as the log shall name them

        Raises
        ------
        AlreadyDone
            The operation was done before; its ``answer`` is carried, the block is not entered. See :meth:`once`.
        Refused, Stale, InvalidRecord
            From the block's steps; ``store.busy`` when another write holds the store for too long; ``store.disk_full``.
        """
        require_uuid("operation", operation)
        with self._alone(), told_by_database(self.folder), self._engine.connect() as plain:
            connection = plain.execution_options(**{WRITES: True})
            with connection.begin():
                earlier = log.answered(connection, operation)
                if earlier is not None:
                    raise AlreadyDone(earlier)
                write = Write(connection, operation, person, self.now())
                yield write
                write.finish()

    def once(self, operation: str, person: str, change: Callable[[Write], R]) -> R | Any:
        """Do an operation, or answer it again: ``change(write)`` returns the answer, which JSON must be able to hold.

        Returns
        -------
        The answer, or the earlier one when the operation was done before.
        """
        try:
            with self.write(operation, person) as write:
                answer = change(write)
                write.answer(answer)
        except AlreadyDone as before:
            return before.answer
        return answer

    @contextmanager
    def _reading(self) -> Iterator[Connection]:
        with told_by_database(self.folder), self._engine.connect() as connection:
            yield connection

    @contextmanager
    def _alone(self) -> Iterator[None]:
        """Threads of this program take turns here, so that they need not meet at the file's lock."""
        if self._writer == threading.get_ident():
            raise RuntimeError("a write was begun inside a write")
        if not self._turn.acquire(timeout=self._patience_s):
            raise Refused("store.busy", folder=str(self.folder))
        try:
            self._writer = threading.get_ident()
            yield
        finally:
            self._writer = None
            self._turn.release()

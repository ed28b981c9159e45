"""One operation: records put and removed in one transaction, each change in the log."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import Any, TypeVar
from uuid import UUID

from sqlalchemy import Connection
from sqlalchemy.exc import IntegrityError

from condition.errors import ConditionError, InvalidRecord, Refused
from condition.records.finding import Finding
from condition.records.job import Job
from condition.store import log, numbers, read
from condition.store.codec import codec
from condition.store.kinds import Kind, kind_of
from condition.store.references import require_present, require_unused
from condition.store.refusals import Stale
from condition.store.rows import as_json, dumps, from_row, to_row
from condition.store.schema import TABLES

R = TypeVar("R")


class Write:
    """The records inside one transaction.

    A step that is refused spoils the whole operation: nothing of it is kept, even when the refusal is caught.
    """

    def __init__(self, connection: Connection, operation: str, person: str, at: str) -> None:
        self._connection = connection
        self._operation = operation
        self._person = person
        self._answer = "{}"
        self._put: dict[str, tuple[Any, Any]] = {}
        self._gone: dict[str, Any] = {}
        self._sequence = 0
        self._refused: Exception | None = None
        self.at = at
        """The operation's time: UTC, ISO 8601 with Z."""

    def get(self, record: type[R], record_id: str) -> R:
        """As :meth:`Store.get`, inside the transaction."""
        return read.get(self._connection, record, record_id)

    def find(self, record: type[R], **equal: Any) -> tuple[R, ...]:
        """As :meth:`Store.find`, inside the transaction."""
        return read.find(self._connection, record, **equal)

    def one(self, record: type[R], **equal: Any) -> R | None:
        """As :meth:`Store.one`, inside the transaction."""
        return read.one(self._connection, record, **equal)

    def put(self, record: R) -> R:
        """Insert a record of version 0, or update one whose version is the stored one; return it as stored.

        Raises
        ------
        Stale
            ``store.stale``: it was changed meanwhile. ``store.removed``: it was removed (see :meth:`restore`).
        Refused
            ``store.name_taken``, ``store.taken``: another record has that value. ``store.number_used``.
        InvalidRecord
            A value the record cannot hold, such as an id that is no UUID.
        """
        with self._step():
            kind = kind_of(record)
            require_uuid(kind.name, record.id)
            current = read.one(self._connection, kind.record, id=record.id)
            if current is None:
                if record.version or log.last_change(self._connection, record.id):
                    raise self._stale(kind, record, None)
                return self._insert(kind, record, 1, placed=self._next_sequence())
            if record.version != current.version:
                raise self._stale(kind, record, current)
            counters = {name: max(getattr(current, name), getattr(record, name)) for name in kind.never_lower}
            return self._update(kind, replace(record, **counters), current)

    def remove(self, record: Any) -> None:
        """Remove a record whose version is the stored one; the log keeps it.

        Raises
        ------
        Stale
            It was changed or removed meanwhile.
        Refused
            ``store.in_use``, at the end of the operation: other records still refer to it.
        """
        with self._step():
            kind = kind_of(record)
            current = read.one(self._connection, kind.record, id=record.id)
            if current is None or record.version != current.version:
                raise self._stale(kind, record, current)
            table = TABLES[kind.name]
            self._connection.execute(table.delete().where(table.c.id == record.id))
            self._log(kind, record.id, current, None)
            self._put.pop(record.id, None)
            self._gone[record.id] = current

    def restore(self, record: type[R], record_id: str) -> R:
        """Put a removed record back as it was when it was removed, one version on.

        Raises
        ------
        Refused
            ``store.not_removed``: it was never there, or it is there. ``store.cannot_restore``: its form is too old.
        """
        with self._step():
            kind = kind_of(record)
            change = log.last_change(self._connection, record_id)
            if change is None or change.kind != kind.name or change.after is not None:
                raise Refused("store.not_removed", kind=kind.name, id=record_id)
            try:
                kept = codec(kind.record).decode(change.before)
            except InvalidRecord as error:
                raise Refused("store.cannot_restore", kind=kind.name, id=record_id) from error
            first = log.first_sequence(self._connection, record_id)
            return self._insert(kind, kept, kept.version + 1, placed=first)

    def next_number(self, job: Job) -> int:
        """Return the job's next finding number: never one that was used before, removed findings included."""
        with self._step():
            return numbers.take(self._connection, job)

    def answer(self, value: Any) -> None:
        """Set what the operation answers when it is asked again: anything JSON can hold, ``{}`` when never set."""
        self._answer = dumps(value)

    def finish(self) -> None:
        """Check the references of all that was put or removed and write the operation down."""
        if self._refused:
            raise self._refused
        for record, before in self._put.values():
            require_present(self._connection, record, before)
        for record in self._gone.values():
            require_unused(self._connection, record)
        log.done(self._connection, self._operation, self.at, self._person, self._answer)

    def _step(self) -> _Step:
        return _Step(self)

    def _insert(self, kind: Kind, record: R, version: int, placed: int) -> R:
        row = {**to_row(replace(record, version=version)), "placed": placed}
        with _unique(kind, record):
            self._connection.execute(TABLES[kind.name].insert(), row)
        self._gone.pop(record.id, None)
        return self._stored(kind, row, None)

    def _update(self, kind: Kind, record: R, before: R) -> R:
        table = TABLES[kind.name]
        row = to_row(replace(record, version=before.version + 1))
        with _unique(kind, record):
            self._connection.execute(table.update().where(table.c.id == record.id), row)
        return self._stored(kind, row, before)

    def _stored(self, kind: Kind, row: dict[str, Any], before: Any) -> Any:
        stored = from_row(kind.record, row)
        if isinstance(stored, Finding):
            numbers.claim(self._connection, stored, before)
        self._log(kind, stored.id, before, stored)
        self._put[stored.id] = (stored, self._put[stored.id][1] if stored.id in self._put else before)
        return stored

    def _next_sequence(self) -> int:
        return (self._sequence or log.last_sequence(self._connection)) + 1

    def _log(self, kind: Kind, record_id: str, before: Any, after: Any) -> None:
        self._sequence = self._next_sequence()
        change = log.Change(
            sequence=self._sequence,
            operation=self._operation,
            at=self.at,
            person=self._person,
            kind=kind.name,
            record_id=record_id,
            before=None if before is None else as_json(before),
            after=None if after is None else as_json(after),
        )
        log.add(self._connection, change)

    def _stale(self, kind: Kind, record: Any, current: Any) -> ConditionError:
        last = log.last_change(self._connection, record.id)
        if last is None:
            return Refused("store.unknown", kind=kind.name, id=record.id)
        code = "store.removed" if current is None else "store.stale"
        return Stale(code, current, kind=kind.name, person=last.person, at=last.at)


class _Step:
    """Remembers a failure, so that an operation in which one was caught is not kept in part."""

    def __init__(self, write: Write) -> None:
        self._write = write

    def __enter__(self) -> None:
        if self._write._refused:
            raise self._write._refused

    def __exit__(self, kind: object, error: BaseException | None, trace: object) -> None:
        if isinstance(error, Exception):
            self._write._refused = error


def require_uuid(kind: str, text: str) -> None:
    """Raise InvalidRecord unless the text is a UUID in its usual form (RFC 9562, section 4, lower case)."""
    try:
        fits = str(UUID(text)) == text
    except (ValueError, AttributeError, TypeError):
        fits = False
    if not fits:
        raise InvalidRecord(kind, f"id {text!r} is not a UUID")


@contextmanager
def _unique(kind: Kind, record: Any) -> Iterator[None]:
    """Tell which value another record has already."""
    try:
        yield
    except IntegrityError as error:
        if getattr(error.orig, "sqlite_errorcode", None) != sqlite3.SQLITE_CONSTRAINT_UNIQUE:
            raise
        if isinstance(record, Job):
            raise Refused("store.name_taken", name=record.name) from error
        if isinstance(record, Finding):
            raise Refused("store.number_used", number=record.number) from error
        fields = ", ".join(name for group in kind.unique for name in group)
        raise Refused("store.taken", kind=kind.name, fields=fields) from error

"""One operation: records put and removed in one transaction, each change in the log."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import Any, TypeVar
from uuid import UUID

from sqlalchemy import Connection, func, select
from sqlalchemy.exc import IntegrityError

from condition.errors import ConditionError, InvalidRecord, Refused
from condition.records.finding import Finding
from condition.records.job import Job
from condition.store import log, numbers, read
from condition.store.codec import codec
from condition.store.kinds import KINDS, Kind, kind_of
from condition.store.rows import as_json, dumps, from_row, to_row
from condition.store.schema import TABLES

R = TypeVar("R")


class Stale(Refused):
    """Somebody changed or removed the record meanwhile; ``current`` is the record as it stands, None when removed."""

    def __init__(self, code: str, current: Any = None, **values: object) -> None:
        super().__init__(code, **values)
        self.current = current

    def __reduce__(self):
        return _rebuild_stale, (self.code, self.current, self.values)


def _rebuild_stale(code: str, current: Any, values: dict[str, object]) -> Stale:
    return Stale(code, current, **values)


class AlreadyDone(Exception):
    """The operation was done before; ``answer`` is what it answered then. Nothing was changed now."""

    def __init__(self, answer: Any) -> None:
        super().__init__(answer)
        self.answer = answer


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
        self._refused: ConditionError | None = None
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
            self._require_references(record, before)
        for record in self._gone.values():
            self._require_unused(record)
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

    def _require_references(self, record: Any, before: Any) -> None:
        """Look at those references that this operation set."""
        kind = kind_of(record)
        for name, target in kind.references.items():
            wanted = getattr(record, name)
            if wanted is None or (before is not None and getattr(before, name) == wanted):
                continue
            other = TABLES[kind_of(target).name]
            if not self._connection.execute(select(other.c.id).where(other.c.id == wanted)).first():
                raise Refused("store.missing_reference", kind=kind.name, reference=kind_of(target).name, id=wanted)

    def _require_unused(self, record: Any) -> None:
        kind = kind_of(record)
        for other in KINDS:
            table = TABLES[other.name]
            for name, target in other.references.items():
                if target is not kind.record:
                    continue
                if n := self._connection.execute(
                    select(func.count()).select_from(table).where(table.c[name] == record.id)
                ).scalar():
                    raise Refused("store.in_use", kind=kind.name, by=other.name, count=n)


class _Step:
    """Remembers a refusal, so that an operation in which one was caught is not kept in part."""

    def __init__(self, write: Write) -> None:
        self._write = write

    def __enter__(self) -> None:
        if self._write._refused:
            raise self._write._refused

    def __exit__(self, kind: object, error: BaseException | None, trace: object) -> None:
        if isinstance(error, ConditionError):
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

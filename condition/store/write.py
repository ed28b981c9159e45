"""One operation: records put and removed in one transaction, each change in the log."""

from __future__ import annotations

import sqlite3
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
        self._touched: list[Any] = []
        self._gone: list[Any] = []
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
                return self._place(kind, record, 1, None)
            if record.version != current.version:
                raise self._stale(kind, record, current)
            counters = {name: max(getattr(current, name), getattr(record, name)) for name in kind.never_lower}
            return self._place(kind, replace(record, **counters), current.version + 1, current)

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
            self._gone.append(current)

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
            return self._place(kind, kept, kept.version + 1, None)

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
        for record in self._touched:
            self._require_references(record)
        for record in self._gone:
            self._require_unused(record)
        log.done(self._connection, self._operation, self.at, self._person, self._answer)

    def _step(self) -> _Step:
        return _Step(self)

    def _place(self, kind: Kind, record: R, version: int, before: R | None) -> R:
        table = TABLES[kind.name]
        row = to_row(replace(record, version=version))
        stored = from_row(kind.record, row)
        try:
            if before is None:
                row["placed"] = self._placed(record.id)
                self._connection.execute(table.insert().values(**row))
            else:
                self._connection.execute(table.update().where(table.c.id == record.id).values(**row))
        except IntegrityError as error:
            raise _taken(error, kind, record) from error
        if isinstance(stored, Finding):
            numbers.claim(self._connection, stored)
        self._log(kind, record.id, before, stored)
        self._touched.append(stored)
        return stored

    def _placed(self, record_id: str) -> int:
        first = select(func.min(log.log.c.sequence)).where(log.log.c.record_id == record_id)
        return self._connection.execute(first).scalar() or log.next_sequence(self._connection)

    def _log(self, kind: Kind, record_id: str, before: Any, after: Any) -> None:
        change = log.Change(
            sequence=log.next_sequence(self._connection),
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

    def _require_references(self, record: Any) -> None:
        kind = kind_of(record)
        table = TABLES[kind.name]
        if not self._connection.execute(select(table.c.id).where(table.c.id == record.id)).first():
            return
        for name, target in kind.references.items():
            wanted = getattr(record, name)
            other = TABLES[kind_of(target).name]
            if wanted is None or self._connection.execute(select(other.c.id).where(other.c.id == wanted)).first():
                continue
            raise Refused("store.missing_reference", kind=kind.name, reference=kind_of(target).name, id=wanted)

    def _require_unused(self, record: Any) -> None:
        kind = kind_of(record)
        if read.one(self._connection, kind.record, id=record.id):
            return
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


def _taken(error: IntegrityError, kind: Kind, record: Any) -> Exception:
    if getattr(error.orig, "sqlite_errorcode", None) != sqlite3.SQLITE_CONSTRAINT_UNIQUE:
        return error
    if isinstance(record, Job):
        return Refused("store.name_taken", name=record.name)
    if isinstance(record, Finding):
        return Refused("store.number_used", number=record.number)
    fields = ", ".join(name for group in kind.unique for name in group)
    return Refused("store.taken", kind=kind.name, fields=fields)

"""What happened: every operation with its answer, every change with what stood before and after. Nothing is altered."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, func, select

from condition.store.rows import dumps
from condition.store.schema import log, operation


@dataclass(frozen=True, slots=True)
class Change:
    """One change of one record.

    sequence : place in the log, rising
    operation : id of the operation it was part of
    at : UTC, ISO 8601 with Z
    kind : name of the record's kind
    before, after : the record as JSON values; before is None for a new record, after for a removed one
    """

    sequence: int
    operation: str
    at: str
    person: str
    kind: str
    record_id: str
    before: dict[str, Any] | None
    after: dict[str, Any] | None


def history(connection: Connection, record_id: str) -> tuple[Change, ...]:
    """Return all changes of a record, the first one first."""
    rows = connection.execute(select(log).where(log.c.record_id == record_id).order_by(log.c.sequence))
    return tuple(change_of(row) for row in rows.mappings())


def last_change(connection: Connection, record_id: str) -> Change | None:
    """Return the latest change of a record, None when it was never put."""
    rows = select(log).where(log.c.record_id == record_id).order_by(log.c.sequence.desc()).limit(1)
    row = connection.execute(rows).mappings().first()
    return change_of(row) if row else None


def change_of(row: Any) -> Change:
    before, after = (json.loads(row[side]) if row[side] is not None else None for side in ("before", "after"))
    return Change(**{**row, "before": before, "after": after})


def last_sequence(connection: Connection) -> int:
    """Return the place of the latest change, 0 when there was none."""
    return connection.execute(select(func.max(log.c.sequence))).scalar() or 0


def first_sequence(connection: Connection, record_id: str) -> int:
    """Return the place of a record's first change; it must have one."""
    return connection.execute(select(func.min(log.c.sequence)).where(log.c.record_id == record_id)).scalar_one()


def add(connection: Connection, change: Change) -> None:
    """Append a change to the log."""
    sides = {side: dumps(v) if (v := getattr(change, side)) is not None else None for side in ("before", "after")}
    columns = ("sequence", "operation", "at", "person", "kind", "record_id")
    connection.execute(log.insert(), {**{name: getattr(change, name) for name in columns}, **sides})


def answered(connection: Connection, operation_id: str) -> Any:
    """Return the answer an operation gave, None when it was never done."""
    answer = connection.execute(select(operation.c.answer).where(operation.c.id == operation_id)).scalar()
    return None if answer is None else json.loads(answer)


def done(connection: Connection, operation_id: str, at: str, person: str, answer: str) -> None:
    """Write down that an operation was done, with its answer as JSON text."""
    connection.execute(operation.insert(), {"id": operation_id, "at": at, "person": person, "answer": answer})

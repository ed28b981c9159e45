"""Records out of the tables."""

from __future__ import annotations

from typing import Any, TypeVar

from sqlalchemy import Connection, Select, select

from condition.errors import Damaged, InvalidRecord, Refused
from condition.store.kinds import Kind, kind_of
from condition.store.rows import columns_of, from_row
from condition.store.schema import TABLES

R = TypeVar("R")


def get(connection: Connection, record: type[R], record_id: str) -> R:
    """Return the record of this id; Refused (``store.unknown``) when there is none."""
    found = one(connection, record, id=record_id)
    if found is None:
        raise Refused("store.unknown", kind=kind_of(record).name, id=record_id)
    return found


def one(connection: Connection, record: type[R], **equal: Any) -> R | None:
    """Return the one record with these values, None when there is none; ValueError when there are several."""
    found = find(connection, record, **equal)
    if len(found) > 1:
        raise ValueError(f"{len(found)} records of kind {kind_of(record).name} where one was asked for")
    return found[0] if found else None


def find(connection: Connection, record: type[R], **equal: Any) -> tuple[R, ...]:
    """Return all records with these values, in the kind's order; a list, tuple or set means any of its values."""
    kind = kind_of(record)
    rows = connection.execute(_query(kind, equal)).mappings()
    try:
        return tuple(from_row(record, row) for row in rows)
    except InvalidRecord as error:
        raise Damaged("store.row_unreadable", kind=kind.name, why=error.values["why"]) from error


def _query(kind: Kind, equal: dict[str, Any]) -> Select:
    table = TABLES[kind.name]
    asked = select(table)
    plain = {column.name for column in columns_of(kind.record) if not column.nested}
    for name, value in equal.items():
        if name not in plain:
            raise TypeError(f"{kind.name} cannot be found by {name!r}")
        column = table.c[name]
        several = isinstance(value, list | tuple | set | frozenset)
        asked = asked.where(column.in_(value) if several else column == value)
    return asked.order_by(*(table.c[name] for name in kind.order), table.c.placed, table.c.id)

"""Records that refer to others: looked at once, when an operation is complete, so that the order of its steps is free.

The tables hold the same rule; here it is told which record is missing, or which one is in the way.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, func, select

from condition.errors import Refused
from condition.store.kinds import KINDS, kind_of
from condition.store.schema import TABLES


def require_present(connection: Connection, record: Any, before: Any) -> None:
    """Raise Refused (``store.missing_reference``) when a reference set since ``before`` leads nowhere."""
    kind = kind_of(record)
    for name, target in kind.references.items():
        wanted = getattr(record, name)
        if wanted is None or (before is not None and getattr(before, name) == wanted):
            continue
        other = kind_of(target).name
        ids = TABLES[other].c.id
        if not connection.execute(select(ids).where(ids == wanted)).first():
            raise Refused("store.missing_reference", kind=kind.name, reference=other, id=wanted)


def require_unused(connection: Connection, record: Any) -> None:
    """Raise Refused (``store.in_use``) when another record still refers to this removed one."""
    kind = kind_of(record)
    referring = [(other, name) for other in KINDS for name, to in other.references.items() if to is kind.record]
    for other, name in referring:
        table = TABLES[other.name]
        counted = select(func.count()).select_from(table).where(table.c[name] == record.id)
        if count := connection.execute(counted).scalar():
            raise Refused("store.in_use", kind=kind.name, by=other.name, count=count)

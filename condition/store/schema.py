"""The tables: one for each kind of record, and the append-only ones that keep what happened.

The tables follow :data:`condition.store.kinds.KINDS`; the migrations make them. A test holds the two together.
"""

from __future__ import annotations

from sqlalchemy import (
    INTEGER,
    REAL,
    TEXT,
    CheckConstraint,
    Column,
    ForeignKey,
    Index,
    MetaData,
    PrimaryKeyConstraint,
    Table,
    TextClause,
    UniqueConstraint,
    text,
)

from condition.store.kinds import KINDS, Kind, kind_of
from condition.store.rows import Field, columns_of

_TYPES = {"TEXT": TEXT, "INTEGER": INTEGER, "REAL": REAL}

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
        "pk": "pk_%(table_name)s",
    }
)

operation = Table(
    "operation",
    metadata,
    Column("id", TEXT, primary_key=True),
    Column("at", TEXT, nullable=False),
    Column("person", TEXT, nullable=False),
    Column("answer", TEXT, nullable=False),
    sqlite_strict=True,
)
"""Every operation done, with the answer it gave: asked again, it is answered again."""

log = Table(
    "log",
    metadata,
    Column("sequence", INTEGER, primary_key=True),
    Column("operation", TEXT, nullable=False, index=True),
    Column("at", TEXT, nullable=False),
    Column("person", TEXT, nullable=False),
    Column("kind", TEXT, nullable=False),
    Column("record_id", TEXT, nullable=False),
    Column("before", TEXT),
    Column("after", TEXT),
    Index(None, "record_id", "sequence"),
    sqlite_strict=True,
)
"""Every change: before is null for a new record, after is null for a removed one."""

number = Table(
    "number",
    metadata,
    Column("job_id", TEXT, nullable=False),
    Column("number", INTEGER, nullable=False),
    Column("finding_id", TEXT, nullable=False),
    PrimaryKeyConstraint("job_id", "number"),
    sqlite_strict=True,
)
"""Whose a finding number is, for good: a removed finding keeps its own."""

APPEND_ONLY = (operation, log, number)


def _default(column: Field) -> TextClause | None:
    """Return the record's default as SQL, so that a field added later has a value in the rows that stand already."""
    if column.default is None:
        return None
    value = column.default
    return text(str(int(value) if isinstance(value, bool) else value) if column.sql != "TEXT" else _quoted(value))


def _quoted(value: object) -> str:
    return "'" + str(value).replace("'", "''").replace(":", "\\:") + "'"


def _table(kind: Kind) -> Table:
    columns = []
    for column in columns_of(kind.record):
        parts: list = [_TYPES[column.sql]]
        if column.name in kind.references:
            target = kind_of(kind.references[column.name])
            comes_later = KINDS.index(target) > KINDS.index(kind)
            reference = ForeignKey(f"{target.name}.id", deferrable=True, initially="DEFERRED", use_alter=comes_later)
            parts.append(reference)
        columns.append(
            Column(
                column.name,
                *parts,
                primary_key=column.name == "id",
                nullable=column.nullable,
                index=True if column.name in kind.references else None,
                server_default=_default(column) if column.name != "version" else None,
            )
        )
    return Table(
        kind.name,
        metadata,
        *columns,
        Column("placed", INTEGER, nullable=False),
        CheckConstraint("version >= 1", name="version"),
        *(UniqueConstraint(*group) for group in kind.unique),
        sqlite_strict=True,
    )


TABLES: dict[str, Table] = {kind.name: _table(kind) for kind in KINDS}
"""The tables of the present, by kind; ``placed`` is the log's sequence at which the record was first put."""

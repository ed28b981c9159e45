"""A record to the values of its row and back."""

from __future__ import annotations

import json
import re
import typing
from collections.abc import Mapping
from dataclasses import MISSING, dataclass, fields
from decimal import Decimal
from functools import cache
from typing import Any, Literal

from condition.errors import InvalidRecord
from condition.store.codec import Codec, codec, fields_of, optional

SqlType = Literal["TEXT", "INTEGER", "REAL"]
_SQL: dict[Any, SqlType] = {str: "TEXT", bool: "INTEGER", int: "INTEGER", float: "REAL", Decimal: "TEXT"}
_UTC = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?Z")


@dataclass(frozen=True, slots=True)
class Field:
    """One field of a record as a column; ``nested`` values are JSON text, ``default`` is the column's value for the
    record's own default (None: it has none)."""

    name: str
    sql: SqlType
    nullable: bool
    nested: bool
    codec: Codec
    default: str | int | float | None = None


@cache
def columns_of(record: type) -> tuple[Field, ...]:
    """Return a record's columns in the order of its fields."""
    columns = []
    defaults = {f.name: f.default for f in fields(record) if f.default not in (MISSING, None)}
    for name, hint in fields_of(record).items():
        inner, nullable = optional(hint)
        if typing.get_origin(inner) is Literal:
            inner = type(typing.get_args(inner)[0])
        plain = _SQL.get(inner)
        default = codec(hint).encode(defaults[name]) if name in defaults else None
        if plain is None and default is not None:
            default = dumps(default)
        columns.append(Field(name, plain or "TEXT", nullable, plain is None, codec(hint), default))
    return tuple(columns)


def to_row(record: Any) -> dict[str, Any]:
    """Return the values of a record's row.

    Raises
    ------
    InvalidRecord
        A field holds what its type does not allow, or a time (``..._at``) that is not UTC with Z.
    """
    row: dict[str, Any] = {}
    for column in columns_of(type(record)):
        value = getattr(record, column.name)
        try:
            encoded = column.codec.encode(value)
        except InvalidRecord as error:
            raise _in_field(record, column.name, error) from error
        if column.name.endswith("_at") and value and not _UTC.fullmatch(value):
            raise InvalidRecord(type(record).__name__, f"{column.name}: {value!r} is not UTC with Z")
        row[column.name] = dumps(encoded) if column.nested and value is not None else encoded
    return row


def from_row(record: type, row: Mapping[str, Any]) -> Any:
    """Return the record a row holds.

    Raises
    ------
    InvalidRecord
        The row does not hold one.
    """
    values = {}
    for column in columns_of(record):
        value = row[column.name]
        try:
            values[column.name] = column.codec.decode(json.loads(value) if column.nested and value else value)
        except (InvalidRecord, ValueError) as error:
            raise _in_field(record, column.name, error) from error
    return record(**values)


def as_json(record: Any) -> dict:
    """Return the whole record as an object :mod:`json` can write."""
    return codec(type(record)).encode(record)


def dumps(value: Any) -> str:
    """Return compact JSON; NaN and infinities are refused with ValueError, other values with TypeError."""
    return json.dumps(value, ensure_ascii=False, allow_nan=False, separators=(",", ":"))


def _in_field(record: Any, name: str, error: Exception) -> InvalidRecord:
    cls = record if isinstance(record, type) else type(record)
    why = error.values["why"] if isinstance(error, InvalidRecord) else str(error)
    return InvalidRecord(cls.__name__, f"{name}: {why}")

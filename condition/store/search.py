"""Finding jobs by the words and numbers written anywhere in them."""

from __future__ import annotations

import json
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, func, or_, select

from condition.records.instrument import Instrument
from condition.records.job import Job
from condition.records.person import Person
from condition.store.kinds import KINDS, Kind, kind_of
from condition.store.rows import columns_of
from condition.store.schema import TABLES

MOST_WORDS = 12
_NO_WORDS = ("id", "sha256", "token_sha256", "path")


@dataclass(frozen=True, slots=True)
class Hit:
    """A record of a job in which a word of the search stands; ``text`` is the field it stands in, as written."""

    job_id: str
    kind: str
    record_id: str
    text: str


def folded(text: str | None) -> str:
    """Return a text so that capitals and accents do not matter (Unicode NFKD, casefolded)."""
    plain = unicodedata.normalize("NFKD", text or "")
    return "".join(letter for letter in plain if not unicodedata.combining(letter)).casefold()


def search(connection: Connection, words: str) -> dict[str, tuple[Hit, ...]]:
    """Return the jobs in which every word stands somewhere, each with the places.

    Words are parts of words too: ``brid`` finds the bridge. An empty search finds nothing.
    """
    asked = [folded(word) for word in words.split()][:MOST_WORDS]
    if not asked:
        return {}
    connection.connection.driver_connection.create_function("folded_text", 1, _folded_column, deterministic=True)
    owners = _owners(connection)
    found: dict[str, list[Hit]] = {}
    together: set[str] | None = None
    for word in asked:
        jobs = set()
        for kind in KINDS:
            for row_id, text in _rows(connection, kind, word):
                for job_id in owners(kind, row_id):
                    jobs.add(job_id)
                    found.setdefault(job_id, []).append(Hit(job_id, kind.name, row_id, text))
        together = jobs if together is None else together & jobs
    return {job_id: tuple(dict.fromkeys(found[job_id])) for job_id in found if job_id in (together or ())}


def _rows(connection: Connection, kind: Kind, word: str) -> Iterator[tuple[str, str]]:
    table = TABLES[kind.name]
    columns = [
        table.c[column.name]
        for column in columns_of(kind.record)
        if column.sql == "TEXT" and column.name not in _NO_WORDS and not column.name.endswith(("_id", "_ids", "_at"))
    ]
    if not columns:
        return
    holds = [func.instr(func.folded_text(column), word) > 0 for column in columns]
    for row in connection.execute(select(table.c.id, *columns).where(or_(*holds))):
        yield row[0], next(text for text in map(_readable, row[1:]) if word in folded(text))


def _folded_column(value: Any) -> str:
    return folded(_readable(value))


def _readable(value: Any) -> str:
    """Return a column's text; of nested values only what was written, not the fields' names."""
    text = value if isinstance(value, str) else ""
    if text[:1] in ("[", "{"):
        try:
            return " · ".join(_written(json.loads(text)))
        except ValueError:
            return text
    return text


def _written(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for one in value.values():
            yield from _written(one)
    elif isinstance(value, list):
        for one in value:
            yield from _written(one)


def _owners(connection: Connection):
    """Return a function from a record to the jobs it belongs to."""
    job = TABLES[kind_of(Job).name]
    of_shared: dict[tuple[str, str], set[str]] = {}
    of_own: dict[tuple[str, str], str] = {}
    for kind in KINDS:
        table = TABLES[kind.name]
        own = job.c.id if kind.record is Job else table.c.get("job_id")
        if own is None:
            continue
        shared = {name: target for name, target in kind.references.items() if target in (Person, Instrument)}
        for row in connection.execute(select(table.c.id, own, *(table.c[name] for name in shared))):
            of_own[kind.name, row[0]] = row[1]
            for target, record_id in zip(shared.values(), row[2:], strict=True):
                if record_id:
                    of_shared.setdefault((kind_of(target).name, record_id), set()).add(row[1])

    def owners(kind: Kind, record_id: str) -> tuple[str, ...]:
        own = of_own.get((kind.name, record_id))
        return (own,) if own else tuple(of_shared.get((kind.name, record_id), ()))

    return owners

"""Records for the store's tests: a small job by hand, and any record of any kind by chance."""

from __future__ import annotations

import dataclasses
import math
import types
import typing
from datetime import UTC
from decimal import Decimal
from functools import cache
from typing import Any, Literal, Union
from uuid import uuid4

from hypothesis import strategies as st

from condition.records.finding import Finding
from condition.records.instrument import Instrument
from condition.records.job import Job
from condition.records.legend import KINDS
from condition.records.mark import Mark
from condition.records.measurement import Measurement
from condition.records.part import Part
from condition.records.photo import Photo
from condition.records.shapes import Circle, Line, Ring
from condition.records.strip_down import Bag, Screws
from condition.store import Store
from condition.store.codec import fields_of

SHA256_ABC = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
"""SHA-256 of the three bytes ``abc``: NIST, FIPS 180-4 example SHA256.pdf, one-block message."""


def new() -> str:
    return str(uuid4())


def opened_job(store: Store, name: str = "B-101") -> Job:
    """Put an instrument and its job."""
    with store.write(new(), "Ada") as write:
        instrument = write.put(Instrument(new(), "small parlour guitar, ladder braced"))
        return write.put(Job(new(), name, instrument.id))


def found(store: Store, job: Job, kind: str = "crack", **values: Any) -> Finding:
    """Put a finding with the job's next number."""
    with store.write(new(), "Ada") as write:
        return write.put(Finding(new(), job.id, write.next_number(job), kind, **values))


def taken_in(store: Store, job: Job, data: bytes = b"abc", **values: Any) -> Photo:
    """Put a photo and its bytes."""
    sha256 = store.vault.put(data)
    with store.write(new(), "Ada") as write:
        return write.put(Photo(new(), job.id, sha256, "top.jpg", "image/jpeg", 4000, 3000, len(data), **values))


def marked(store: Store, photo: Photo, finding: Finding | None = None) -> Mark:
    """Put a line on a photo."""
    with store.write(new(), "Ada") as write:
        line = Line(((10.5, 20.25), (30.0, 41.125)))
        return write.put(Mark(new(), photo.id, finding.id if finding else None, line))


_finite = st.floats(allow_nan=False, allow_infinity=False)
_pair = st.tuples(_finite, _finite)
_utc = st.datetimes(timezones=st.just(UTC)).map(lambda t: t.strftime("%Y-%m-%dT%H:%M:%SZ").rjust(20, "0"))
_PLAIN: dict[Any, st.SearchStrategy] = {
    str: st.text(),
    bool: st.booleans(),
    int: st.integers(-(2**63), 2**63 - 1),
    float: _finite,
    Decimal: st.decimals(allow_nan=False, allow_infinity=False),
}
_LIMITS: dict[type, dict[str, st.SearchStrategy]] = {
    Circle: {"radius": st.floats(min_value=0, exclude_min=True, max_value=math.ldexp(1, 900))},
    Line: {"points": st.lists(_pair, min_size=2, max_size=6).map(tuple)},
    Ring: {
        "points": st.lists(_pair, min_size=3, max_size=6).map(tuple),
        "holes": st.lists(st.lists(_pair, min_size=3, max_size=4).map(tuple), max_size=2).map(tuple),
    },
    Measurement: {"expanded": st.floats(min_value=0, max_value=math.ldexp(1, 900))},
    Finding: {"kind": st.sampled_from(sorted(KINDS)), "number": st.integers(1, 2**31)},
    Part: {"name": st.text(min_size=1).filter(str.strip)},
    Bag: {"number": st.integers(1, 999)},
    Screws: {"count": st.integers(4, 99), "back": st.integers(0, 4)},
}
"""What the records themselves demand of their fields."""


def any_value(hint: Any) -> st.SearchStrategy:
    """Return values of a type hint, as records use them."""
    if hint in _PLAIN:
        return _PLAIN[hint]
    origin, arguments = typing.get_origin(hint), typing.get_args(hint)
    if origin is Literal:
        return st.sampled_from(arguments)
    if origin in (Union, types.UnionType):
        return st.one_of(*(st.none() if a is types.NoneType else any_value(a) for a in arguments))
    if origin is tuple and arguments[-1] is Ellipsis:
        return st.lists(any_value(arguments[0]), max_size=3).map(tuple)
    if origin is tuple:
        return st.tuples(*map(any_value, arguments))
    assert dataclasses.is_dataclass(hint), hint
    return any_record(hint)


@cache
def any_record(record: type) -> st.SearchStrategy:
    """Return records of a class, every field filled by chance."""
    limits = _LIMITS.get(record, {})
    values = {
        name: (st.just("") | _utc) if name.endswith("_at") else any_value(hint)
        for name, hint in fields_of(record).items()
        if name not in limits
    }
    return st.builds(record, **values, **limits)

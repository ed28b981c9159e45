import json
import sqlite3
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Literal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from condition.errors import InvalidRecord
from condition.records.instrument import Instrument
from condition.records.job import Job
from condition.records.mark import Mark
from condition.records.shapes import Line, Ring, Shape
from condition.store.codec import codec
from condition.store.kinds import KINDS
from condition.store.rows import as_json, columns_of, dumps, from_row, to_row
from tests.store.bench_records import any_record, any_value, new

KIND_NAMES = [kind.name for kind in KINDS]


def through_sqlite(row: dict) -> dict:
    """Pass the values through a row of a strict table, as the store's are."""
    connection = sqlite3.connect(":memory:")
    connection.row_factory = sqlite3.Row
    types = {str: "TEXT", int: "INTEGER", float: "REAL", bool: "INTEGER", type(None): "TEXT"}
    columns = ", ".join(f'"{name}" {types[type(value)]}' for name, value in row.items())
    connection.execute(f"CREATE TABLE t ({columns}) STRICT")
    connection.execute(f"INSERT INTO t VALUES ({', '.join('?' * len(row))})", tuple(row.values()))
    return dict(connection.execute("SELECT * FROM t").fetchone())


@pytest.mark.parametrize("kind", KINDS, ids=KIND_NAMES)
def test_every_kind_of_record_comes_back_from_its_row_and_from_the_log_as_it_was(kind):
    @settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
    @given(any_record(kind.record))
    def round_trip(record):
        assert from_row(kind.record, through_sqlite(to_row(record))) == record
        assert codec(kind.record).decode(json.loads(dumps(as_json(record)))) == record

    round_trip()


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_numbers_keep_every_bit(number):
    kept = json.loads(dumps(codec(float).encode(number)))
    assert codec(float).decode(kept).hex() == number.hex()


@given(any_value(Decimal))
def test_decimals_keep_their_digits_and_trailing_zeros(number):
    assert str(codec(Decimal).decode(codec(Decimal).encode(number))) == str(number)


def test_a_whole_number_in_a_length_stays_the_same_length():
    instrument = Instrument(new(), "mandolin", string_length_mm=350)
    assert from_row(Instrument, through_sqlite(to_row(instrument))) == instrument


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("title", 7),
        ("title", "half a sign \ud800"),
        ("string_length_mm", float("nan")),
        ("string_length_mm", float("inf")),
        ("string_length_mm", "648"),
        ("version", 1.5),
        ("version", 2**63),
        ("version", True),
    ],
)
def test_a_value_of_the_wrong_type_is_refused_with_its_field(field, value):
    with pytest.raises(InvalidRecord, match=field):
        to_row(replace(Instrument(new(), "mandolin"), **{field: value}))


@pytest.mark.parametrize("time", ["2024-03-01", "2024-03-01T09:00:00", "2024-03-01T09:00:00+01:00", "now"])
def test_a_time_that_is_not_utc_with_z_is_refused(time):
    with pytest.raises(InvalidRecord, match="opened_at"):
        to_row(Job(new(), "B-1", new(), opened_at=time))


def test_a_word_outside_the_allowed_ones_is_refused():
    with pytest.raises(InvalidRecord, match="how"):
        to_row(Mark(new(), new(), None, Line(((0, 0), (1, 1))), how="guessed"))


def test_a_shape_where_another_is_due_is_refused():
    with pytest.raises(InvalidRecord):
        codec(Ring | None).decode({"shape": "point", "x": 1.0, "y": 2.0})
    with pytest.raises(InvalidRecord):
        codec(Shape).decode({"shape": "spiral"})


@dataclass(frozen=True)
class Bag:
    label: str
    screws: int = 4
    state: Literal["in", "out"] = "in"


def test_a_field_that_was_added_later_takes_its_default():
    assert codec(Bag).decode({"label": "bag 3"}) == Bag("bag 3", 4, "in")


@pytest.mark.parametrize("stored", [{"label": "bag 3", "colour": "red"}, {"screws": 4}, ["bag 3"], None])
def test_an_object_that_is_not_the_record_is_refused(stored):
    with pytest.raises(InvalidRecord):
        codec(Bag).decode(stored)


def test_a_type_the_store_has_no_form_for_is_a_defect():
    with pytest.raises(TypeError, match="no form"):
        codec(dict[str, int])


def test_a_default_becomes_the_column_s_default():
    defaults = {column.name: column.default for column in columns_of(Mark)}
    assert (defaults["how"], defaults["measurements"], defaults["shape_px"]) == ("hand", "[]", None)

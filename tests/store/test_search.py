"""Jobs are found by what is written anywhere in them."""

from __future__ import annotations

from dataclasses import replace

import pytest

from condition.flow.desk import new_id
from condition.flow.findings import new_finding
from condition.flow.jobs import describe, open_job
from condition.records.instrument import Instrument
from condition.records.person import Person


@pytest.fixture
def two(desk):
    first = open_job(desk, "A-1", title="Mandola", client_name="Ottilie Gräf")
    second = open_job(desk, "A-2", title="Banjo", client_name="Nils Å.")
    describe(
        desk,
        replace(first, request_items=("Mend the crack", "Leave the scratches")),
        replace(desk.store.get(Instrument, first.instrument_id), serial="No. 4417-B"),
        Person(new_id(), "Ottilie Gräf", "client", "Lindenhof 3"),
    )
    new_finding(desk, second, "crack", observation="Beside the TAILPIECE, 100 % sure")
    return first, second


@pytest.mark.parametrize(
    ("words", "names"),
    [
        ("4417", {"A-1"}),
        ("graf", {"A-1"}),
        ("GRÄF mandola", {"A-1"}),
        ("lindenhof", {"A-1"}),
        ("scratches", {"A-1"}),
        ("crack", {"A-1", "A-2"}),
        ("crack tailpiece", {"A-2"}),
        ("crack mandola banjo", set()),
        ("100 %", {"A-2"}),
        ("_", set()),
        ("'; drop table job; --", set()),
        ("", set()),
        ("   ", set()),
        ("request_items", set()),
    ],
)
def test_every_word_must_stand_somewhere_in_the_job(desk, two, words, names):
    by_id = {job.id: job.name for job in two}
    assert {by_id[job_id] for job_id in desk.store.search(words)} == names


def test_the_place_is_told(desk, two):
    (hit,) = desk.store.search("tailpiece")[two[1].id]
    assert (hit.kind, hit.text) == ("finding", "Beside the TAILPIECE, 100 % sure")

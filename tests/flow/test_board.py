"""The bench board says where each instrument is and whose turn it is."""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal

import pytest

from condition.flow.board import board
from condition.flow.buying import begin_look, keep_look, look_of
from condition.flow.estimates import add_line, answer, begin, send
from condition.flow.handovers import prepare
from condition.flow.jobs import next_job_name, open_job
from condition.flow.people import person_named
from condition.records.estimate import EstimateLine


def entry(desk, job):
    return next(one for one in board(desk) if one.job.id == job.id)


def test_a_new_job_waits_on_the_bench(desk, job):
    found = entry(desk, job)
    assert (found.group, found.waits, found.where.place) == ("here", "bench", "here")


def test_the_next_job_is_numbered_after_the_highest_of_this_year(desk):
    first = next_job_name(desk)
    assert re.fullmatch(r"20\d\d-001", first)
    year = first[:4]
    for name in (f"{year}-041", f"{year}-7", f"{int(year) - 1}-900", "look 2026-01-01 1", f"{year}-050b"):
        open_job(desk, name)
    assert next_job_name(desk) == f"{year}-042"


def test_an_estimate_sent_waits_on_the_client_until_every_line_is_answered(desk, job):
    estimate = begin(desk, job)
    for line in ("a", "b"):
        estimate = add_line(desk, estimate, EstimateLine(line, "Work", quantity=Decimal(1), rate=Decimal(10)))
    assert entry(desk, job).waits == "bench"
    estimate = send(desk, estimate)
    found = entry(desk, job)
    assert (found.waits, found.waits_on.name) == ("client", "A. Client")
    estimate = answer(desk, estimate, "a", "accepted")
    assert entry(desk, job).waits == "client"
    answer(desk, estimate, "b", "declined")
    assert entry(desk, job).waits == "bench"


def test_out_back_and_returned(desk, job):
    ysolde = person_named(desk, "Ysolde M.", "specialist")
    out = prepare(
        desk, job, "out", taker_id=ysolde.id, handed_at="2026-11-24T09:00:00Z", due_on="2999-01-01", photo_ids=()
    )
    found = entry(desk, job)
    assert (found.group, found.waits, found.waits_on.name) == ("out", "specialist", "Ysolde M.")
    prepare(desk, job, "back", out_id=out.id, handed_at="2026-12-01T09:00:00Z")
    assert (entry(desk, job).group, entry(desk, job).waits) == ("here", "bench")
    prepare(desk, job, "returned", handed_at="2026-12-02T09:00:00Z")
    assert (entry(desk, job).group, entry(desk, job).waits) == ("returned", "nobody")


def test_what_should_be_back_stands_first(desk, job):
    prepare(desk, job, "out", handed_at="2026-01-02T09:00:00Z", due_on="2026-02-01")
    assert entry(desk, job).group == "late"


def test_a_look_is_apart_until_it_is_bought(desk):
    job = begin_look(desk, "Tired banjo")
    assert (entry(desk, job).group, entry(desk, job).waits) == ("looked at", "seller")
    look = keep_look(desk, replace(look_of(desk, job), decision="leave it"))
    assert entry(desk, job).waits == "nobody"
    keep_look(desk, replace(look, decision="buy"))
    assert (entry(desk, job).group, entry(desk, job).waits) == ("here", "bench")


@pytest.mark.parametrize(("words", "count"), [("mandolin", 1), ("client banjo", 0), ("2026", 2), ("", 2)])
def test_the_board_can_be_searched(desk, job, words, count):
    open_job(desk, "2026-002", title="Tired banjo")
    assert len(board(desk, words)) == count

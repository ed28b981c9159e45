"""Estimates: begun from plan and price book, sent and so fixed, answered line by line, followed by a new edition."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable
from dataclasses import replace

from condition.errors import Damaged, Refused
from condition.flow.desk import Desk, new_id, utc_now
from condition.flow.estimate_sheets import Trouble, live_sheet, summed
from condition.flow.price_book import shop_money
from condition.flow.quantities import measured_quantity
from condition.flow.undo import put_back
from condition.records.estimate import Answer, Estimate, EstimateLine, EstimateSheet, LineAnswer, Totals
from condition.records.finding import Finding
from condition.records.job import Job
from condition.records.money import PriceEntry
from condition.records.treatment import Treatment
from condition.store.codec import codec
from condition.trade.money import currency

KEPT = ("sent_at", "sent", "sent_sha256", "answers")
"""What no edit of an estimate touches."""


def estimates_of(desk: Desk, job: Job) -> tuple[Estimate, ...]:
    """Return every edition, the first one first."""
    return desk.store.find(Estimate, job_id=job.id)


def latest(desk: Desk, job: Job) -> Estimate | None:
    found = estimates_of(desk, job)
    return found[-1] if found else None


def begin(desk: Desk, job: Job, *, at: str | None = None) -> Estimate:
    """Begin the job's first estimate on the shop's terms, with a line for everything planned.

    Raises
    ------
    Refused
        ``estimate.open_there``: one that was not sent yet is there already; a sent one is followed by
        :func:`new_edition`.
    """
    last = latest(desk, job)
    if last is not None:
        raise Refused("estimate.sent_there" if last.sent_at else "estimate.open_there", edition=last.edition)
    own = shop_money(desk)
    estimate = Estimate(
        new_id(),
        job.id,
        currency=own.currency,
        rounding=own.rounding,
        tax_on=own.tax_on,
        tax_name=own.tax_name,
        tax_percent=own.tax_percent,
        deposit_percent=own.deposit_percent,
        stop_above_minor=own.stop_above_minor,
        validity_days=own.validity_days,
        binding=own.binding,
        lead_time=own.lead_time,
        terms=own.terms,
        begun_at=at or utc_now(),
    )
    with desk.store.write(new_id(), desk.person) as work:
        estimate = work.put(estimate)
    return lines_from_plan(desk, estimate)


def new_edition(desk: Desk, estimate: Estimate, *, at: str | None = None) -> Estimate:
    """Begin the edition after a sent one, with its lines and terms; quantities and prices are live again.

    A line keeps its id, so that a line already among the costs of own stock is not counted again.

    Raises
    ------
    Refused
        ``estimate.open_there``: the last edition was not sent yet.
    """
    job = desk.store.get(Job, estimate.job_id)
    last = latest(desk, job)
    if not last.sent_at:
        raise Refused("estimate.open_there", edition=last.edition)
    fresh = replace(
        desk.store.get(Estimate, estimate.id),
        id=new_id(),
        edition=last.edition + 1,
        valid_until="",
        begun_at=at or utc_now(),
        sent_at="",
        sent=None,
        sent_sha256="",
        answers=(),
        version=0,
    )
    with desk.store.write(new_id(), desk.person) as work:
        return work.put(fresh)


def keep_estimate(desk: Desk, edited: Estimate) -> Estimate:
    """Keep an estimate as edited.

    Raises
    ------
    Refused
        ``estimate.sent``: it was sent, so it stays as it is. ``money.*``: a value that cannot be reckoned with.
    Stale
        It was changed elsewhere meanwhile.
    """
    currency(edited.currency)
    with desk.store.write(new_id(), desk.person) as work:
        stored = work.get(Estimate, edited.id)
        if stored.sent_at:
            raise Refused("estimate.sent", edition=stored.edition)
        edited = replace(edited, **{name: getattr(stored, name) for name in (*KEPT, "job_id", "edition")})
        if edited == stored:
            return stored
        kept = work.put(edited)
    return kept


def remove_estimate(desk: Desk, estimate: Estimate) -> None:
    """Take an estimate away that was not sent; the log can put it back.

    Raises
    ------
    Refused
        ``estimate.sent``
    """
    with desk.store.write(new_id(), desk.person) as work:
        stored = work.get(Estimate, estimate.id)
        if stored.sent_at:
            raise Refused("estimate.sent", edition=stored.edition)
        work.remove(stored)


def put_back_estimate(desk: Desk, estimate_id: str) -> Estimate:
    """Put an estimate back that was taken away; refused when its edition has been begun anew."""
    return put_back(desk, Estimate, estimate_id)


def add_line(desk: Desk, estimate: Estimate, line: EstimateLine) -> Estimate:
    now = desk.store.get(Estimate, estimate.id)
    return keep_estimate(desk, replace(now, lines=(*now.lines, line)))


def keep_line(desk: Desk, estimate: Estimate, line: EstimateLine) -> Estimate:
    """Keep a line of an estimate as it was read; choosing it lets go of the others of its option group.

    Raises
    ------
    Stale
        The estimate was changed elsewhere meanwhile.
    """
    lines = [line if one.id == line.id else _let_go(one, line) for one in estimate.lines]
    return keep_estimate(desk, replace(estimate, lines=tuple(lines)))


def _let_go(one: EstimateLine, chosen: EstimateLine) -> EstimateLine:
    same = chosen.option_group and one.option_group == chosen.option_group
    return replace(one, chosen=False) if same and chosen.chosen and one.chosen else one


def remove_line(desk: Desk, estimate: Estimate, line_id: str) -> Estimate:
    now = desk.store.get(Estimate, estimate.id)
    return keep_estimate(desk, replace(now, lines=tuple(one for one in now.lines if one.id != line_id)))


def put_lines_back(desk: Desk, estimate: Estimate, lines: tuple[EstimateLine, ...]) -> Estimate:
    """Put the lines back as they were before one was removed."""
    return keep_estimate(desk, replace(desk.store.get(Estimate, estimate.id), lines=lines))


def lines_from_plan(desk: Desk, estimate: Estimate) -> Estimate:
    """Add a line for every planned treatment that has none; what is left as it is costs nothing and gets none."""
    now = desk.store.get(Estimate, estimate.id)
    have = {line.treatment_id for line in now.lines}
    planned = desk.store.find(Treatment, job_id=now.job_id)
    new = [_line_for(desk, one, now.currency) for one in planned if one.id not in have and one.action != "leave"]
    return keep_estimate(desk, replace(now, lines=(*now.lines, *new))) if new else now


def _line_for(desk: Desk, treatment: Treatment, code: str) -> EstimateLine:
    finding = desk.store.one(Finding, id=treatment.about_id) if treatment.about == "finding" else None
    entry = _entry_for(desk, finding, code) if treatment.action != "send out" else None
    return EstimateLine(
        new_id(),
        treatment_id=treatment.id,
        finding_id=finding.id if finding else "",
        price_id=entry.id if entry else "",
        unit=entry.unit if entry else "fixed",
        option_group=treatment.option_group,
        chosen=treatment.chosen,
        outside=treatment.action == "send out",
    )


def _entry_for(desk: Desk, finding: Finding | None, code: str) -> PriceEntry | None:
    """The one entry of the book that suits the finding's kind and its measurements; none when several do."""
    if finding is None:
        return None
    suits = [one for one in desk.store.find(PriceEntry, currency=code) if finding.kind in one.suits]
    measured = [one for one in suits if measured_quantity(desk, finding, one.unit) or one.unit in ("fixed", "hour")]
    return measured[0] if len(measured) == 1 else None


def sheet_of(desk: Desk, estimate: Estimate, at: str | None = None) -> EstimateSheet:
    """Return what the paper shows: as it was sent, or as it stands now while it is not.

    Raises
    ------
    Damaged
        ``estimate.altered``: what was sent is not what its SHA-256 says.
    """
    estimate = desk.store.get(Estimate, estimate.id)
    if not estimate.sent_at:
        return live_sheet(desk, estimate, at)[0]
    if estimate.sent is None or sheet_sha256(estimate.sent) != estimate.sent_sha256:
        raise Damaged("estimate.altered", edition=estimate.edition)
    return estimate.sent


def troubles_of(desk: Desk, estimate: Estimate) -> tuple[Trouble, ...]:
    """Return what has to be put right before it can be sent."""
    return () if estimate.sent_at else live_sheet(desk, estimate)[1]


def not_on_it(desk: Desk, estimate: Estimate) -> tuple[Treatment, ...]:
    """Return what is planned, is no mere leaving, and has no line on the estimate."""
    have = {line.treatment_id for line in estimate.lines}
    planned = desk.store.find(Treatment, job_id=estimate.job_id)
    return tuple(one for one in planned if one.id not in have and one.action != "leave")


def sheet_sha256(sheet: EstimateSheet) -> str:
    """Return the SHA-256 of everything the paper shows, as JSON with sorted keys."""
    values = codec(EstimateSheet).encode(sheet)
    text = json.dumps(values, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def send(desk: Desk, estimate: Estimate, *, at: str | None = None) -> Estimate:
    """Fix the estimate as it stands, with every value and name, and write down when it was sent.

    Raises
    ------
    Refused
        ``estimate.sent``, ``estimate.no_lines``; the first trouble of :func:`troubles_of`.
    """
    at = at or utc_now()
    estimate = desk.store.get(Estimate, estimate.id)
    if estimate.sent_at:
        raise Refused("estimate.sent", edition=estimate.edition)
    sheet, troubles = live_sheet(desk, estimate, at)
    if not sheet.lines:
        raise Refused("estimate.no_lines")
    if troubles:
        raise Refused(troubles[0].code, line=troubles[0].words)
    fixed = replace(estimate, valid_until=sheet.valid_until, sent_at=at, sent=sheet, sent_sha256=sheet_sha256(sheet))
    with desk.store.write(new_id(), desk.person) as work:
        return work.put(fixed)


def answer(
    desk: Desk, estimate: Estimate, line_id: str, said: Answer, words: str = "", *, at: str | None = None
) -> Estimate:
    """Write down the client's word on a line; an empty answer takes it back.

    Accepting one line of an option group declines the others that were accepted or still open.

    Raises
    ------
    Refused
        ``estimate.not_sent``: there is nothing to answer yet. ``estimate.no_line``
    """
    at = at or utc_now()
    with desk.store.write(new_id(), desk.person) as work:
        now = work.get(Estimate, estimate.id)
        if now.sent is None:
            raise Refused("estimate.not_sent")
        line = next((one for one in now.sent.lines if one.id == line_id), None)
        if line is None:
            raise Refused("estimate.no_line")
        group = [one.id for one in now.sent.lines if line.option_group and one.option_group == line.option_group]
        given = {one.line_id: one for one in now.answers}
        if said == "accepted":
            given |= {other: LineAnswer(other, "declined", at) for other in group if other != line_id}
        given[line_id] = LineAnswer(line_id, said, at, words.strip())
        kept = tuple(given[one.id] for one in now.sent.lines if one.id in given and given[one.id].answer)
        return now if kept == now.answers else work.put(replace(now, answers=kept))


def answer_all(
    desk: Desk, estimate: Estimate, said: Answer, lines: Iterable[str] | None = None, *, at: str | None = None
) -> Estimate:
    """Give every line that is counted (or the given ones) the same answer."""
    sheet = sheet_of(desk, estimate)
    for line_id in lines if lines is not None else [line.id for line in sheet.lines if line.counted]:
        estimate = answer(desk, estimate, line_id, said, at=at)
    return estimate


def answers_of(estimate: Estimate) -> dict[str, LineAnswer]:
    return {one.line_id: one for one in estimate.answers}


def accepted(desk: Desk, estimate: Estimate) -> EstimateSheet | None:
    """Return the sent sheet with only the accepted lines counted and its sums; None before there is an answer."""
    if estimate.sent is None or not estimate.answers:
        return None
    said = answers_of(estimate)
    sheet = sheet_of(desk, estimate)
    taken = {line_id for line_id, one in said.items() if one.answer == "accepted"}
    return summed(sheet, [replace(line, counted=line.id in taken) for line in sheet.lines])


def accepted_totals(desk: Desk, estimate: Estimate) -> Totals | None:
    sheet = accepted(desk, estimate)
    return sheet.totals if sheet else None

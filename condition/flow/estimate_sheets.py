"""An estimate's lines with the quantities and prices that hold now, and what they come to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from condition.flow.days import days_after, local_day
from condition.flow.desk import Desk, utc_now
from condition.flow.price_book import rate_of
from condition.flow.quantities import measured_quantity
from condition.flow.shop import shop
from condition.records.estimate import Estimate, EstimateLine, EstimateSheet, SheetLine, Totals
from condition.records.finding import Finding
from condition.records.instrument import Instrument
from condition.records.job import Job
from condition.records.money import PriceEntry
from condition.records.person import Person
from condition.records.treatment import Treatment
from condition.trade.money import from_minor, to_minor
from condition.trade.reckoning import Priced, Terms, reckon, work_of


@dataclass(frozen=True, slots=True)
class Trouble:
    """What stands in the way of sending a line; ``code`` is the catalogue's."""

    line_id: str
    words: str
    code: str


def live_sheet(desk: Desk, estimate: Estimate, at: str | None = None) -> tuple[EstimateSheet, tuple[Trouble, ...]]:
    """Return the paper as findings, prices and names have it now, dated ``at`` (UTC; now when not given)."""
    job = desk.store.get(Job, estimate.job_id)
    instrument = desk.store.get(Instrument, job.instrument_id)
    client = desk.store.one(Person, id=job.client_id) if job.client_id else None
    own = shop(desk)
    day = local_day(at or utc_now())
    lines: list[SheetLine] = []
    troubles: list[Trouble] = []
    for line in estimate.lines:
        resolved, wrong = _resolved(desk, estimate, line)
        lines.append(resolved)
        troubles += [Trouble(line.id, resolved.words, code) for code in wrong]
    sheet = EstimateSheet(
        number=f"{job.name}/E{estimate.edition}",
        edition=estimate.edition,
        job_name=job.name,
        instrument=instrument.title,
        serial=instrument.serial,
        client_name=client.name if client else "",
        client_address=client.address if client else "",
        client_contact=client.contact if client else "",
        shop_name=own.name,
        shop_address=own.address,
        shop_contact=own.contact,
        examiner=job.examiner or own.examiner,
        binding=estimate.binding,
        currency=estimate.currency,
        rounding=estimate.rounding,
        tax_on=estimate.tax_on,
        tax_name=estimate.tax_name,
        tax_percent=estimate.tax_percent,
        discount_percent=estimate.discount_percent,
        discount_fixed=estimate.discount_minor,
        discount_words=estimate.discount_words,
        deposit_percent=estimate.deposit_percent,
        stop_above=estimate.stop_above_minor,
        lead_time=estimate.lead_time,
        terms=estimate.terms,
        intro=estimate.intro,
        included=estimate.included,
        not_included=(*estimate.not_included, *_left(desk, job)),
        dated=day,
        valid_until=estimate.valid_until or days_after(day, estimate.validity_days),
        lines=(),
        totals=Totals(0, 0, 0, 0, 0, 0),
    )
    return summed(sheet, lines), tuple(troubles)


def summed(sheet: EstimateSheet, lines: Sequence[SheetLine]) -> EstimateSheet:
    """Return the sheet with these lines, their shares of discount and tax, and the sums."""
    terms = Terms(
        sheet.currency,
        sheet.rounding,
        sheet.tax_percent,
        sheet.tax_on,
        sheet.discount_percent,
        sheet.discount_fixed,
        sheet.deposit_percent,
    )
    shares, totals = reckon([Priced(line.net, line.counted, line.taxed) for line in lines], terms)
    shared = tuple(
        replace(line, discount=share.discount, tax=share.tax) for line, share in zip(lines, shares, strict=True)
    )
    return replace(sheet, lines=shared, totals=totals)


def _left(desk: Desk, job: Job) -> tuple[str, ...]:
    """What the plan leaves as it is belongs to what is not in the price."""
    left = (one for one in desk.store.find(Treatment, job_id=job.id) if one.action == "leave" and one.what)
    return tuple(one.what for one in left)


def _resolved(desk: Desk, estimate: Estimate, line: EstimateLine) -> tuple[SheetLine, list[str]]:
    entry = desk.store.one(PriceEntry, id=line.price_id) if line.price_id else None
    finding = desk.store.one(Finding, id=line.finding_id) if line.finding_id else None
    treatment = desk.store.one(Treatment, id=line.treatment_id) if line.treatment_id else None
    wrong = []
    if entry and entry.currency != estimate.currency:
        wrong.append("estimate.other_currency")
        entry = None
    unit = entry.unit if entry else line.unit
    quantity, measured = line.quantity, ""
    if quantity is None and finding is not None:
        found = measured_quantity(desk, finding, unit)
        quantity, measured = (found.quantity, found.measured) if found else (None, "")
    if quantity is None:
        quantity = Decimal(1) if unit == "fixed" else None
    if quantity is None:
        wrong.append("estimate.no_quantity")
        quantity = Decimal(0)
    if line.rate is None and entry is None and not line.materials_minor:
        wrong.append("estimate.no_rate")
    rate = line.rate if line.rate is not None else rate_of(entry, line.variant) if entry else Decimal(0)
    minimum = line.minimum_minor if line.minimum_minor is not None else entry.minimum_minor if entry else 0
    work, at_minimum = work_of(quantity, rate, minimum, estimate.currency, estimate.rounding)
    materials = line.materials_minor if line.materials_minor is not None else _materials(entry, quantity, estimate)
    words = line.words or (treatment.what if treatment else "") or (entry.name if entry else "")
    if not words:
        wrong.append("estimate.no_words")
    return (
        SheetLine(
            id=line.id,
            words=f"{words} ({line.variant})" if line.variant and entry else words,
            why=treatment.why if treatment else "",
            finding=finding.number if finding else 0,
            measured=measured,
            quantity=quantity,
            unit=unit,
            rate=rate,
            minimum=minimum,
            at_minimum=at_minimum,
            work=work,
            materials=materials,
            materials_words=entry.materials_words if entry else "",
            net=work + materials,
            discount=0,
            tax=0,
            counted=not line.optional and (not line.option_group or line.chosen),
            optional=line.optional,
            option_group=line.option_group,
            chosen=line.chosen,
            outside=line.outside,
            outside_who=line.outside_who,
            taxed=line.taxed,
        ),
        wrong,
    )


def _materials(entry: PriceEntry | None, quantity: Decimal, estimate: Estimate) -> int:
    if entry is None or not quantity:
        return 0
    if not entry.materials_each:
        return entry.materials_minor
    return to_minor(quantity * from_minor(entry.materials_minor, entry.currency), estimate.currency, estimate.rounding)

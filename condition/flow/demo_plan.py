"""The demonstration's plan, estimate and handovers, on the days they happen in the story."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from pathlib import Path

from condition.flow.desk import Desk, new_id
from condition.flow.estimate_papers import send_estimate, write_estimate
from condition.flow.estimates import answer, begin, keep_estimate
from condition.flow.handover_papers import write_handover
from condition.flow.handovers import condition_photos, file_paper, prepare, sign
from condition.flow.money import read_amount
from condition.flow.people import person_named
from condition.flow.plan import keep_treatment, propose
from condition.flow.price_book import keep_shop_money, new_price, price_book, shop_money
from condition.flow.shop import keep_shop, shop
from condition.records.estimate import EstimateLine
from condition.records.finding import Finding
from condition.records.handover import Packed
from condition.records.job import Job
from condition.records.money import PriceEntry, PriceVariant
from condition.records.photo import Photo
from condition.records.treatment import Treatment


def plan(desk: Desk, job: Job, told: dict, photos: dict[str, Photo]) -> None:
    """Plan, estimate, send, answer and hand over as ``demo_images/plan.json`` tells it.

    What the shop has already (its name, its money, entries of the price book) is left as it is.
    """
    _shop(desk, told)
    treatments = {one["key"]: _treatment(desk, job, one) for one in told["treatments"]}
    _estimate(desk, job, told["estimate"], treatments)
    _handovers(desk, job, told, photos)


def _shop(desk: Desk, told: dict) -> None:
    own = shop(desk)
    if not own.name:
        keep_shop(desk, replace(own, **told["shop"]))
    money = dict(told["money"])
    known = shop_money(desk)
    if not known.version:
        stop = read_amount(money.pop("stop_above"), money["currency"])
        percents = {name: Decimal(money.pop(name)) for name in ("tax_percent", "deposit_percent")}
        keep_shop_money(desk, replace(known, stop_above_minor=stop, **percents, **money))
    there = {entry.name for entry in price_book(desk)}
    for entry in told["price_book"]:
        if entry["name"] not in there:
            _price(desk, dict(entry), told["money"]["currency"])


def _price(desk: Desk, entry: dict, code: str) -> PriceEntry:
    variants = tuple(PriceVariant(one["name"], Decimal(one["rate"])) for one in entry.pop("variants", ()))
    return new_price(
        desk,
        entry.pop("name"),
        entry.pop("unit"),
        Decimal(entry.pop("rate")),
        currency=code,
        variants=variants,
        suits=tuple(entry.pop("suits", ())),
        minimum_minor=read_amount(entry.pop("minimum", "0"), code),
        materials_minor=read_amount(entry.pop("materials", "0"), code),
        **entry,
    )


def _treatment(desk: Desk, job: Job, told: dict) -> Treatment:
    values = {
        key: value for key, value in told.items() if key not in ("key", "finding", "about", "done_on", "done_words")
    }
    finding = desk.store.one(Finding, job_id=job.id, number=told["finding"]) if "finding" in told else None
    about = "finding" if finding else told.get("about", "own")
    made = propose(desk, job, about, finding.id if finding else "", **values)
    done = {name: told[name] for name in ("done_on", "done_words") if name in told}
    return keep_treatment(desk, replace(made, **done))


def _estimate(desk: Desk, job: Job, told: dict, treatments: dict[str, Treatment]) -> None:
    estimate = begin(desk, job, at=told["sent"])
    entries = {entry.name: entry for entry in price_book(desk)}
    terms = dict(told["terms"])
    lines = tuple(_line(one, treatments, entries) for one in told["lines"])
    left_out = tuple(terms.pop("not_included"))
    estimate = keep_estimate(desk, replace(estimate, lines=lines, not_included=left_out, **terms))
    estimate = send_estimate(desk, estimate, at=told["sent"])
    for line in estimate.sent.lines:
        said = told["declined"].get(line.words)
        estimate = answer(
            desk, estimate, line.id, "accepted" if said is None else "declined", said or "", at=told["answered"]
        )


def _line(told: dict, treatments: dict[str, Treatment], entries: dict[str, PriceEntry]) -> EstimateLine:
    treatment = treatments.get(told.get("treatment", ""))
    entry = entries.get(told.get("price", ""))
    return EstimateLine(
        new_id(),
        words=told.get("words", ""),
        treatment_id=treatment.id if treatment else "",
        finding_id=treatment.about_id if treatment and treatment.about == "finding" else "",
        price_id=entry.id if entry else "",
        unit=entry.unit if entry else told.get("unit", "each"),
        quantity=Decimal(told["quantity"]) if "quantity" in told else None,
        rate=Decimal(told["rate"]) if "rate" in told else None,
        option_group=treatment.option_group if treatment else "",
        chosen=treatment.chosen if treatment else True,
        outside=told.get("outside", False),
        outside_who=told.get("outside_who", ""),
    )


def _handovers(desk: Desk, job: Job, told: dict, photos: dict[str, Photo]) -> None:
    who = {key: person_named(desk, **person).id for key, person in told["people"].items()}
    who["client"] = desk.store.get(Job, job.id).client_id
    code = told["money"]["currency"]
    outs: dict[str, str] = {}
    for one in told["handovers"]:
        names = ("part_words", "consignment", "due_on", "packing", "condition", "asked", "untouched", "fragile", "keep")
        given = {name: one[name] for name in (*names, "thing") if name in one}
        numbers = one.get("findings", ())
        about = desk.store.find(Finding, job_id=job.id, number=list(numbers)) if numbers else ()
        shown = [photos[name].id for name in one.get("photos", ()) if name in photos]
        if "photos_of" in one:
            shown = [photo.id for photo in condition_photos(desk, job, one["photos_of"])]
        made = prepare(
            desk,
            job,
            one["step"],
            giver_id=who[one["giver"]],
            taker_id=who[one["taker"]],
            carrier_id=who.get(one.get("carrier", "")),
            handed_at=one["at"],
            out_id=outs.get(one.get("ends", ""), ""),
            value_minor=read_amount(one["value"], code) if "value" in one else None,
            currency=code,
            packed=tuple(Packed(*item) for item in one["packed"]),
            photo_ids=tuple(shown),
            finding_ids=tuple(finding.id for finding in about),
            **given,
        )
        outs[one["key"]] = made.id
        if "signed" in one:
            sign(desk, made, one["signed"], at=one["at"])
        for name, nature, text in one.get("files", ()):
            file_paper(desk, job, made, name, text.encode(), nature)


def plan_papers(desk: Desk, job: Job, folder: Path) -> dict[str, str]:
    """Write the estimate as it was sent and the paper of the last handover; return their paths."""
    estimate, handover = folder / "estimate.pdf", folder / "handover.pdf"
    write_estimate(desk, job, estimate)
    write_handover(desk, job, handover)
    return {"estimate": str(estimate), "handover": str(handover)}

"""The papers of a handover: the one to sign, and the specialist's sheet."""

from __future__ import annotations

from pathlib import Path

from condition.errors import Refused
from condition.flow.days import local_day
from condition.flow.desk import Desk, utc_now
from condition.flow.handovers import handovers_of, photos_of, where_is
from condition.flow.pixels import pixels_of
from condition.flow.shop import shop
from condition.flow.whole_files import write_whole
from condition.records.custody import HandoverSheet
from condition.records.finding import Finding
from condition.records.handover import Handover
from condition.records.instrument import Instrument
from condition.records.job import Job
from condition.records.part import Part
from condition.records.person import Person
from condition.words import say


def handover_sheet(desk: Desk, one: Handover) -> HandoverSheet:
    """Return a handover with every name it shows; one that has not happened yet is dated today."""
    job = desk.store.get(Job, one.job_id)

    def person(person_id: str | None) -> Person | None:
        return desk.store.one(Person, id=person_id) if person_id else None

    parts = desk.store.find(Part, id=list(one.part_ids)) if one.part_ids else ()
    return HandoverSheet(
        handover=one,
        job=job,
        instrument=desk.store.get(Instrument, job.instrument_id),
        shop=shop(desk),
        giver=person(one.giver_id),
        taker=person(one.taker_id),
        carrier=person(one.carrier_id),
        day=local_day(one.handed_at or utc_now()),
        photos=photos_of(desk, one),
        findings=desk.store.find(Finding, id=list(one.finding_ids)) if one.finding_ids else (),
        part_names=tuple(part.name for part in parts),
    )


def handover_paper(desk: Desk, one: Handover) -> bytes:
    """Return the paper to sign as a PDF."""
    from condition.report.handover_paper import handover_pdf

    sheet = handover_sheet(desk, one)
    return handover_pdf(sheet, photo_pixels=lambda photo: pixels_of(desk, photo), paper=sheet.shop.paper)


def specialist_paper(desk: Desk, one: Handover) -> bytes:
    """Return the specialist's sheet as a PDF."""
    from condition.report.specialist_sheet import specialist_pdf

    sheet = handover_sheet(desk, one)
    return specialist_pdf(sheet, photo_pixels=lambda photo: pixels_of(desk, photo), paper=sheet.shop.paper)


def paper_name(desk: Desk, one: Handover, what: str) -> str:
    job = desk.store.get(Job, one.job_id)
    return f"{job.name} {what} {local_day(one.handed_at or utc_now())}.pdf"


def case_label(desk: Desk, one: Handover) -> bytes:
    """Return a label for the case or the parcel as a PDF: job, instrument, to whom, back by when; no value."""
    from condition.report.labels import Label, labels_pdf

    sheet = handover_sheet(desk, one)
    to = "\n".join(filter(None, (sheet.taker.name, sheet.taker.address))) if sheet.taker else ""
    lines = [
        sheet.thing or sheet.instrument.title,
        *to.split("\n"),
        say("handover.due_back", day=one.due_on) if one.due_on and one.step == "out" else "",
        ", ".join(filter(None, (sheet.shop.name, sheet.shop.address, sheet.shop.contact))),
    ]
    lines = [line for line in lines if line]
    return labels_pdf([Label(sheet.job.name, tuple(lines), "\n".join((sheet.job.name, *lines)))], "label")


def write_handover(desk: Desk, job: Job, out: Path, *, number: int | None = None, paper: str = "sign") -> Handover:
    """Write a paper of the job's latest handover, or of the one of that number (1 is the first), and return it.

    Parameters
    ----------
    paper : ``sign``, ``specialist`` or ``label``

    Raises
    ------
    Refused
        ``handover.no_number``: the job has no such handover.
    """
    done = handovers_of(desk, job)
    at = len(done) if number is None else number
    if not 1 <= at <= len(done):
        raise Refused("handover.no_number", job=job.name, count=len(done))
    one = done[at - 1]
    draw = {"sign": handover_paper, "specialist": specialist_paper, "label": case_label}[paper]
    write_whole(out, draw(desk, one))
    return one


def told_whereabouts(desk: Desk, job: Job) -> dict[str, object]:
    """Return where the instrument is as the command line tells it."""
    where = where_is(desk, job)
    return {
        "where": where.place,
        "with": where.person.name if where.person else None,
        "since": where.since or None,
        "due": where.due or None,
        "parts_out": [
            {"part": one.words, "with": one.person.name if one.person else None, "since": one.since, "due": one.due}
            for one in where.parts_out
        ],
    }

"""Before buying: a quick job with what the seller says, what is asked, five photos, and one sheet of it all."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from condition.errors import Refused
from condition.flow.attachments import attach, attachments_of
from condition.flow.days import local_day
from condition.flow.desk import Desk, new_id, utc_now
from condition.flow.jobs import open_job, view_named
from condition.flow.pixels import pixels_of
from condition.flow.price_book import shop_money
from condition.flow.whole_files import write_whole
from condition.records.attachment import Attachment
from condition.records.buying import BeforeBuying
from condition.records.instrument import Instrument
from condition.records.job import Job
from condition.records.photo import Photo
from condition.records.view import View
from condition.trade.money import currency, read_amount

SLOTS = ("front", "back", "headstock front", "headstock back", "what worries")
"""The five photos of a look, as faces of the job."""


def begin_look(desk: Desk, title: str, *, family: str = "other") -> Job:
    """Open a quick job for an instrument that is not the shop's yet; its faces wait for their photos.

    Raises
    ------
    Refused
        ``buying.no_title``
    """
    if not title.strip():
        raise Refused("buying.no_title")
    now = utc_now()
    day = local_day(now)
    taken = {job.name for job in desk.store.find(Job)}
    name = next(name for n in range(1, len(taken) + 2) if (name := f"look {day} {n}") not in taken)
    job = open_job(desk, name, title=title, family=family)
    with desk.store.write(new_id(), desk.person) as work:
        job = work.put(replace(work.get(Job, job.id), own_stock=True))
        work.put(BeforeBuying(new_id(), job.id, currency=shop_money(desk).currency, looked_at=now))
    for slot in SLOTS:
        view_named(desk, job, slot)
    return job


def look_of(desk: Desk, job: Job) -> BeforeBuying | None:
    """Return a job's look before buying; None for any other job."""
    return desk.store.one(BeforeBuying, job_id=job.id)


def keep_look(desk: Desk, look: BeforeBuying) -> BeforeBuying:
    """Keep a look as edited; the price asked is read from what was typed.

    Raises
    ------
    Refused
        ``money.*``: the price is no amount, or the currency is unknown.
    """
    code = currency(look.currency).code
    asking = read_amount(look.asking_typed, code) if look.asking_typed.strip() else None
    claims = tuple(line.strip() for line in look.claims if line.strip())
    look = replace(look, currency=code, asking_minor=asking, claims=claims)
    with desk.store.write(new_id(), desk.person) as work:
        return look if work.get(BeforeBuying, look.id) == look else work.put(look)


def name_serial(desk: Desk, job: Job, serial: str) -> Instrument:
    """Keep the serial number as read on the instrument."""
    with desk.store.write(new_id(), desk.person) as work:
        instrument = work.get(Instrument, job.instrument_id)
        return (
            instrument if instrument.serial == serial.strip() else work.put(replace(instrument, serial=serial.strip()))
        )


def keep_receipt(desk: Desk, job: Job, name: str, data: bytes) -> Attachment:
    """Keep the receipt with the job, as it came."""
    look = look_of(desk, job)
    return attach(desk, job, name, data, nature="receipt", about=look.id if look else "")


def receipts_of(desk: Desk, job: Job) -> tuple[Attachment, ...]:
    return tuple(one for one in attachments_of(desk, job) if one.nature == "receipt")


def slot_photos(desk: Desk, job: Job) -> dict[str, Photo | None]:
    """Return the newest photo of each of the five faces, None where one is still to be taken."""
    photos = desk.store.find(Photo, job_id=job.id)
    views = {view.name: view.id for view in desk.store.find(View, job_id=job.id)}
    return {
        slot: next((photo for photo in reversed(photos) if photo.view_id == views.get(slot, "")), None)
        for slot in SLOTS
    }


def buying_sheet(desk: Desk, job: Job, out: Path) -> Path:
    """Write the one sheet of a look as a PDF.

    Raises
    ------
    Refused
        ``buying.no_look``: the job is none that was begun before buying.
    """
    from condition.report.buying_sheet import buying_pdf

    look = look_of(desk, job)
    if look is None:
        raise Refused("buying.no_look", job=job.name)
    data = buying_pdf(
        look,
        job,
        desk.store.get(Instrument, job.instrument_id),
        slot_photos(desk, job),
        tuple(one.file_name for one in receipts_of(desk, job)),
        dated=local_day(look.looked_at or utc_now()),
        photo_pixels=lambda photo: pixels_of(desk, photo),
    )
    return write_whole(out, data)


def sheet_path(desk: Desk, job: Job) -> Path:
    """Return where the pages keep the sheet of a look."""
    return desk.store.folder / "papers" / f"{job.id}-before-buying.pdf"

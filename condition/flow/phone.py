"""The phone's way in: a pass for one job that adds photos and short notes, expires and can be withdrawn."""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from condition.errors import Refused
from condition.flow.buying import buying_sheet, keep_look, keep_receipt, look_of, name_serial, sheet_path
from condition.flow.desk import Desk, new_id
from condition.flow.intake import TakenIn, take_in
from condition.flow.jobs import views_of
from condition.flow.undo import put_back
from condition.records.arrivals import PhonePass
from condition.records.buying import BeforeBuying
from condition.records.instrument import Instrument
from condition.records.job import Job
from condition.records.note import Note
from condition.records.photo import Occasion, Photo
from condition.records.view import View

PHONE = "phone"
LOOK_FIELDS = ("claims", "asking_typed", "currency", "seller", "seller_contact", "worries", "serial")
TAKE_AGAIN = frozenset(
    f"photo.{code}"
    for code in (
        "moved", "blurred", "no_edges", "small", "glare", "one_glare", "blown", "dark", "tilted",
        "one_card", "cards_unusable", "no_card",
    )
)  # fmt: skip
"""Advice that asks for a better photo while the instrument still lies there; the rest can wait for the bench."""

LONGEST_HOURS = 24.0
MOST_NOTE_LETTERS = 1000
_STAMP = "%Y-%m-%dT%H:%M:%SZ"


@dataclass(frozen=True, slots=True)
class Face:
    """A face the phone may choose, and the earlier photo of it to hold the new one against."""

    view: View
    earlier: Photo | None


@dataclass(frozen=True, slots=True)
class PhoneSees:
    """All a phone with a pass is told."""

    job: Job
    instrument: Instrument
    the_pass: PhonePass
    faces: tuple[Face, ...]
    photo_count: int
    look: BeforeBuying | None


def let_in(
    desk: Desk,
    job: Job,
    *,
    hours: float,
    occasion: Occasion = "intake",
    view_id: str | None = None,
    now: datetime | None = None,
) -> tuple[PhonePass, str]:
    """Make a pass; return it with its token, which is kept nowhere.

    Raises
    ------
    Refused
        ``phone.hours``: not between a minute and a day.
    """
    if not 1 / 60 <= hours <= LONGEST_HOURS:
        raise Refused("phone.hours", most=int(LONGEST_HOURS))
    now = now or datetime.now(UTC)
    token = secrets.token_urlsafe(24)
    made = PhonePass(
        new_id(),
        job.id,
        _hashed(token),
        now.strftime(_STAMP),
        (now + timedelta(hours=hours)).strftime(_STAMP),
        occasion=occasion,
        view_id=view_id,
    )
    with desk.store.write(new_id(), desk.person) as work:
        return work.put(made), token


def withdraw(desk: Desk, the_pass: PhonePass, now: datetime | None = None) -> PhonePass:
    """End a pass at once; one that has ended already stays as it is."""
    with desk.store.write(new_id(), desk.person) as work:
        known = work.get(PhonePass, the_pass.id)
        if known.withdrawn_at:
            return known
        return work.put(replace(known, withdrawn_at=(now or datetime.now(UTC)).strftime(_STAMP)))


def passes_of(desk: Desk, job: Job, now: datetime | None = None) -> tuple[PhonePass, ...]:
    """Return the job's passes that still let a phone in."""
    moment = (now or datetime.now(UTC)).strftime(_STAMP)
    return tuple(one for one in desk.store.find(PhonePass, job_id=job.id, withdrawn_at="") if one.expires_at > moment)


def pass_for(desk: Desk, token: str, now: datetime | None = None) -> PhonePass:
    """Return the pass of a token.

    Raises
    ------
    Refused
        ``phone.no_pass``, ``phone.withdrawn``, ``phone.expired``
    """
    known = desk.store.one(PhonePass, token_sha256=_hashed(token)) if token else None
    if known is None:
        raise Refused("phone.no_pass")
    if known.withdrawn_at:
        raise Refused("phone.withdrawn")
    if known.expires_at <= (now or datetime.now(UTC)).strftime(_STAMP):
        raise Refused("phone.expired")
    return known


def seen_by(desk: Desk, the_pass: PhonePass) -> PhoneSees:
    """Return what a phone with this pass is told of its job."""
    job = desk.store.get(Job, the_pass.job_id)
    photos = desk.store.find(Photo, job_id=job.id)
    earlier = [photo for photo in photos if photo.occasion != the_pass.occasion]
    return PhoneSees(
        job,
        desk.store.get(Instrument, job.instrument_id),
        the_pass,
        tuple(
            Face(view, next((photo for photo in earlier if photo.view_id == view.id), None))
            for view in views_of(desk, job)
        ),
        len(photos),
        look_of(desk, job),
    )


def keep_from_phone(desk: Desk, the_pass: PhonePass, told: Mapping[str, object]) -> BeforeBuying:
    """Keep what a phone says of a look before buying; fields it does not name stay as they are.

    Raises
    ------
    Refused
        ``buying.no_look``: the pass is for another kind of job; ``money.*``; ``phone.unreadable``
    """
    job = desk.store.get(Job, the_pass.job_id)
    look = look_of(desk, job)
    if look is None:
        raise Refused("buying.no_look", job=job.name)
    texts = {name: told[name] for name in LOOK_FIELDS if name in told}
    if not all(isinstance(text, str) and len(text) <= MOST_NOTE_LETTERS for text in texts.values()):
        raise Refused("phone.unreadable")
    if "serial" in texts:
        name_serial(desk, job, texts.pop("serial"))
    if "claims" in texts:
        texts["claims"] = tuple(texts["claims"].splitlines())
    return keep_look(desk, replace(look, **texts))


def sheet_from_phone(desk: Desk, the_pass: PhonePass) -> Path:
    """Make the one sheet of a look and return its file."""
    job = desk.store.get(Job, the_pass.job_id)
    return buying_sheet(desk, job, sheet_path(desk, job))


def receipt_from_phone(desk: Desk, the_pass: PhonePass, name: str, path: Path) -> None:
    keep_receipt(desk, desk.store.get(Job, the_pass.job_id), name, path.read_bytes())


def picture_for(desk: Desk, the_pass: PhonePass, photo_id: str) -> Path:
    """Return the file of a small picture of one of the pass's own job.

    Raises
    ------
    Refused
        ``store.unknown``: no such photo in this job.
    """
    from condition.flow.pictures import thumbnail_of

    photo = desk.store.one(Photo, id=photo_id, job_id=the_pass.job_id)
    if photo is None:
        raise Refused("store.unknown", kind="photo", id=photo_id)
    return thumbnail_of(desk, photo)


def take_from_phone(desk: Desk, the_pass: PhonePass, name: str, path: Path, view_id: str | None) -> TakenIn:
    """Take one photo in for a pass; the file may be taken away afterwards."""
    if view_id is not None and desk.store.one(View, id=view_id, job_id=the_pass.job_id) is None:
        raise Refused("store.unknown", kind="view", id=view_id)
    job = desk.store.get(Job, the_pass.job_id)
    (taken,) = take_in(desk, job, [(name, path)], view_id=view_id, occasion=the_pass.occasion)
    return taken


def write_note(desk: Desk, job_id: str, words: str, *, operation: str, by: str = PHONE) -> Note:
    """Keep a short note with a job; the same operation again is answered again, not done again.

    Raises
    ------
    Refused
        ``phone.note_empty``, ``phone.note_long``
    """
    words = words.strip()
    if not words:
        raise Refused("phone.note_empty")
    if len(words) > MOST_NOTE_LETTERS:
        raise Refused("phone.note_long", most=MOST_NOTE_LETTERS)
    note_id = desk.store.once(
        operation,
        desk.person,
        lambda work: (
            work.put(Note(new_id(), job_id, words, written_by=by, written_at=datetime.now(UTC).strftime(_STAMP))).id
        ),
    )
    return desk.store.get(Note, note_id)


def notes_of(desk: Desk, job: Job) -> tuple[Note, ...]:
    """Return the job's notes, the newest first."""
    return desk.store.find(Note, job_id=job.id)[::-1]


def put_note_away(desk: Desk, note: Note) -> None:
    with desk.store.write(new_id(), desk.person) as work:
        work.remove(work.get(Note, note.id))


def bring_note_back(desk: Desk, note_id: str) -> None:
    put_back(desk, Note, note_id)


def _hashed(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()

"""A sheet without what a reader is not to see: fields emptied, known names and numbers taken out of every text.

It works on the sheet before anything is set, so that neither the pages nor the data attached to them can hold it.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from functools import lru_cache
from typing import Any

from condition.flow.desk import Desk
from condition.records.cost import Cost
from condition.records.estimate import Estimate, EstimateSheet
from condition.records.handover import Handover
from condition.records.instrument import Instrument
from condition.records.job import Job
from condition.records.money import PriceEntry
from condition.records.person import Person
from condition.records.photo import Photo
from condition.records.reader import PaperFace, Withheld
from condition.records.sheet import ConditionSheet
from condition.words import say

EMPTIED: dict[Withheld, frozenset[str]] = {
    "prices": frozenset({"asking_typed", "asking_minor", "amount_minor"}),
    "values": frozenset({"value_minor"}),
    "names": frozenset({"examiner", "owner", "whose", "read_by", "judged_by", "signed_by", "written_by", "by_whom",
                        "seller", "client_name", "outside_who", "said_by", "done_by", "confirmed_by", "decided_by"}),
    "addresses": frozenset({"address", "contact", "seller_contact", "client_address", "client_contact"}),
    "serials": frozenset({"serial"}),
    "request": frozenset({"request", "request_items", "Job.reason"}),
    "photo facts": frozenset({"file_name", "camera", "lens", "taken", "taken_offset", "byte_count"}),
    "claims": frozenset({"claimed_maker", "claimed_model", "claimed_year", "claim", "claims"}),
}  # fmt: skip
"""Fields that are emptied, by what is withheld: of any record of the sheet, or of the one named before the dot."""

DROPPED: dict[Withheld, tuple[type, ...]] = {"prices": (Estimate, EstimateSheet, Cost, PriceEntry)}
"""Records that are left out whole."""

_WHO = "_by"
"""How the name of a field ends that says who did something; emptied with the names."""
_CODES = re.compile(r"(^|_)(id|ids|kind|state|method|unit|quantity|role|handedness|sha256|version)$")
_LEAST_WORD = 4


@dataclass(frozen=True, slots=True)
class Secrets:
    """Texts that must not appear: ``anywhere`` in any letters' case, ``words`` as they are written."""

    anywhere: tuple[str, ...]
    words: tuple[str, ...]

    def out_of(self, text: str) -> str:
        """Return the text with each secret replaced by a word that says so, the longest first."""
        for pattern in _patterns(self):
            text = pattern.sub(lambda _: say("report.left_out"), text)
        return text


@lru_cache(maxsize=8)
def _patterns(secrets: Secrets) -> tuple[re.Pattern[str], ...]:
    return tuple(
        re.compile(rf"(?<!\w){re.escape(secret)}(?!\w)", flags)
        for told, flags in ((secrets.anywhere, re.IGNORECASE), (secrets.words, re.NOFLAG))
        for secret in told
    )


def secrets_of(desk: Desk, job: Job, withheld: Sequence[Withheld]) -> Secrets:
    """Return what is known of a job that falls under what is withheld."""
    anywhere: list[str] = []
    words: list[str] = []
    instrument = desk.store.get(Instrument, job.instrument_id)
    people = _people(desk, job)
    if "names" in withheld:
        names = [person.name for person in people] + [job.examiner, instrument.owner.partition(",")[0]]
        anywhere += names
        words += [word for name in names for word in re.findall(r"\w+", name) if _telling(word)]
    if "addresses" in withheld:
        lines = [line for person in people for text in (person.address, person.contact) for line in text.splitlines()]
        anywhere += [piece for line in lines for piece in (line, *re.split(r"[,;]\s*", line))]
    if "serials" in withheld:
        anywhere += [instrument.serial, *(one for one in re.findall(r"\w+", instrument.serial) if _numbered(one))]
    if {"names", "photo facts"} & set(withheld):
        anywhere += [photo.file_name for photo in desk.store.find(Photo, job_id=job.id)]
    told = {text.strip() for text in anywhere if len(text.strip()) >= _LEAST_WORD - 1}
    return Secrets(tuple(sorted(told, key=len, reverse=True)), tuple(sorted(set(words), key=len, reverse=True)))


def _people(desk: Desk, job: Job) -> list[Person]:
    ids = {job.client_id}
    for one in desk.store.find(Handover, job_id=job.id):
        ids |= {one.giver_id, one.taker_id, one.carrier_id}
    return [desk.store.get(Person, one) for one in ids if one]


def _telling(word: str) -> bool:
    return len(word) >= _LEAST_WORD and word[0].isupper()


def _numbered(word: str) -> bool:
    return len(word) >= _LEAST_WORD and any(letter.isdigit() for letter in word)


def without(sheet: ConditionSheet, face: PaperFace, secrets: Secrets) -> ConditionSheet:
    """Return the sheet as this reader may see it."""
    emptied = frozenset().union(*(EMPTIED[one] for one in face.withheld))
    dropped = tuple(kind for one in face.withheld for kind in DROPPED.get(one, ()))
    plain = _plain_names(sheet.photos) if {"names", "photo facts"} & set(face.withheld) else {}
    sheet = _walked(sheet, _Without(emptied, dropped, secrets, "names" in face.withheld, plain))
    if "photo facts" in face.withheld:
        sheet = replace(sheet, photos=tuple(replace(photo, sha256="") for photo in sheet.photos))
    if "names" in face.withheld:
        sheet = replace(sheet, client=None)
    return replace(sheet, face=face)


def _plain_names(photos: tuple[Photo, ...]) -> dict[str, str]:
    """Give the photos plain names: a file's own may name whose kitchen it was."""
    return {photo.id: say("reader.photo", number=n) for n, photo in enumerate(photos, 1)}


@dataclass(frozen=True, slots=True)
class _Without:
    emptied: frozenset[str]
    dropped: tuple[type, ...]
    secrets: Secrets
    no_names: bool
    plain_names: Mapping[str, str]

    def empties(self, record: Any, name: str) -> bool:
        if self.no_names and name.endswith(_WHO):
            return True
        return name in self.emptied or f"{type(record).__name__}.{name}" in self.emptied


def _walked(value: Any, without: _Without) -> Any:
    if isinstance(value, str):
        return without.secrets.out_of(value)
    if isinstance(value, tuple):
        return tuple(_walked(one, without) for one in value if not isinstance(one, without.dropped))
    if isinstance(value, dict):
        return {key: _walked(one, without) for key, one in value.items()}
    if not is_dataclass(value) or isinstance(value, type):
        return value
    changes = {}
    for field in fields(value):
        if not field.init:
            continue
        held = getattr(value, field.name)
        if without.empties(value, field.name):
            new = _empty(field, held)
        elif isinstance(held, without.dropped):
            new = None
        elif isinstance(held, str) and _CODES.search(field.name):
            new = held
        else:
            new = _walked(held, without)
        if new is not held and new != held:
            changes[field.name] = new
    if isinstance(value, Photo) and without.plain_names:
        changes["file_name"] = without.plain_names.get(value.id, "")
    return replace(value, **changes) if changes else value


def _empty(field: dataclasses.Field, held: Any) -> Any:
    if held is None or isinstance(held, int | float):
        return field.default if field.default is not dataclasses.MISSING else held
    return type(held)()

"""The demonstration's readings, function test, fault and stamps, before the work and on return."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from condition.flow.codes import note_stamp
from condition.flow.desk import Desk
from condition.flow.faults import add_sound, edit_fault, faults_of, note_fault, set_try
from condition.flow.function_test import add_test, tried
from condition.flow.readings import type_coil, type_reading
from condition.flow.strings import keep_strings, strings_at
from condition.records.fault import Fault
from condition.records.finding import Finding
from condition.records.job import Job
from condition.records.photo import Photo
from condition.records.reading import Coil, FittedString, Occasion

FOLDER = Path(__file__).parent.parent.parent / "demo_images"


def readings(desk: Desk, job: Job, told: dict, photos: dict[str, Photo]) -> None:
    """Type in what ``demo_images/readings.json`` tells; finding numbers and photos are looked up by it."""
    for occasion, values in told["occasions"].items():
        _occasion(desk, job, occasion, values)
    for entry in told["faults"]:
        _fault(desk, job, entry)
    for entry in told["stamps"]:
        photo = photos.get(entry.pop("photo", ""))
        note_stamp(desk, job, **entry, photo_id=photo.id if photo else None)


def _occasion(desk: Desk, job: Job, occasion: Occasion, values: dict) -> None:
    strings = tuple(FittedString(**string) for string in values["strings"])
    keep_strings(desk, replace(strings_at(desk, job, occasion), strings=strings))
    for entry in values["readings"]:
        type_reading(desk, job, entry.pop("what"), entry.pop("typed"), occasion=occasion, **entry)
    for entry in values["coils"]:
        coil = Coil(**entry["coil"])
        type_coil(desk, job, entry["place"], entry["typed"], coil, occasion=occasion, note=entry.get("note", ""))
    for entry in values["function"]:
        test = add_test(desk, job, entry["group"], entry["item"], occasion)
        tried(desk, test, entry["result"], entry.get("note"))


def _fault(desk: Desk, job: Job, entry: dict) -> None:
    found = desk.store.find(Finding, job_id=job.id, number=entry["finding"])
    words = {name: entry[name] for name in ("where", "heard_when", "likely_cause")}
    fault = note_fault(desk, job, entry["kind"], finding_id=found[0].id if found else None, **words)
    for what, values in entry["tries"].items():
        fault = set_try(desk, fault, _place(fault, what), **values)
    if "sound" in entry:
        add_sound(desk, job, fault, entry["sound"], FOLDER / entry["sound"])
    edit_fault(desk, replace(faults_of(desk, job)[-1], retest=entry["retest"], retest_words=entry["retest_words"]))


def _place(fault: Fault, what: str) -> int:
    return next(place for place, one in enumerate(fault.tries) if one.what == what)

"""The demonstration's parts with their evidence, its bags, and its strip-down log read forwards and backwards."""

from __future__ import annotations

from condition.flow.bags import begin_bag
from condition.flow.desk import Desk
from condition.flow.parts import add_evidence, edit_part, lay_out, move, parts_of, remove_part
from condition.flow.readings import readings_of
from condition.flow.strip_down import put_back, reassembly, stop_too_fragile, take_off
from condition.records.job import Job
from condition.records.part import Part
from condition.records.photo import Photo
from condition.records.strip_down import Screws


def parts(desk: Desk, job: Job, told: dict, photos: dict[str, Photo]) -> None:
    """Lay out the list, say what was found, take apart and put together again."""
    for part in lay_out(desk, job):
        if part.code in told["take_off_the_list"]:
            remove_part(desk, part)
    bags = {entry["number"]: begin_bag(desk, job, **entry) for entry in told["bags"]}
    for code, entry in told["parts"].items():
        _part(desk, job, code, entry, photos)
    for code, number in told["in_bag"].items():
        move(desk, _coded(desk, job, code), "bag", bag_id=bags[number].id)
    _strip_down(desk, job, told["steps"], photos)


def _coded(desk: Desk, job: Job, code: str) -> Part:
    return next(part for part in parts_of(desk, job) if part.code == code)


def _part(desk: Desk, job: Job, code: str, entry: dict, photos: dict[str, Photo]) -> None:
    part = edit_part(desk, _coded(desk, job, code), **entry["fields"])
    for one in entry.get("evidence", ()):
        reading = next((r for r in readings_of(desk, job) if r.what == one.get("reading")), None)
        add_evidence(
            desk,
            part,
            kind=one["kind"],
            words=one["words"],
            speaks=one.get("speaks", "for"),
            photo_id=photos[one["photo"]].id if "photo" in one else None,
            reading_id=reading.id if reading else "",
        )


def _strip_down(desk: Desk, job: Job, steps: list[dict], photos: dict[str, Photo]) -> None:
    backs = {}
    for entry in steps:
        if "stop" in entry:
            part = _coded(desk, job, entry["stop"])
            stop_too_fragile(desk, job, "", entry["reason"], part_id=part.id, at=entry["at"])
            continue
        step = take_off(
            desk,
            job,
            entry["what"],
            part_ids=[_coded(desk, job, code).id for code in entry["parts"]],
            screws=[Screws(**screws) for screws in entry.get("screws", ())],
            bag_number=entry.get("bag"),
            wires=entry.get("wires", ""),
            fragments=entry.get("fragments", ""),
            photo_id=photos[entry["photo"]].id if "photo" in entry else None,
            at=entry["at"],
        )
        backs[step.id] = entry["back"]
    for step in reassembly(desk, job):
        put_back(desk, step, at=backs[step.id])

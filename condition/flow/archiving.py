"""A job put away whole, checked, and taken back: records, photos, marks and the report in one BagIt archive."""

from __future__ import annotations

import hashlib
import json
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import condition
from condition.errors import Damaged, InvalidRecord, Problem, Refused
from condition.flow.desk import Desk, new_id, utc_now
from condition.flow.papers import condition_report
from condition.records.attachment import Attachment
from condition.records.finding import Finding
from condition.records.instrument import Instrument
from condition.records.job import Job
from condition.records.mark import Mark
from condition.records.person import Person
from condition.records.photo import Photo
from condition.report.annotations import Picture, TravellingMark, unique_names, write_page
from condition.report.bag import MOST_TAG_BYTES, check_bag, safe_name, write_bag
from condition.report.proof import facts_in
from condition.store.codec import codec
from condition.store.kinds import KINDS, kind_named, kind_of
from condition.words import say

FORM = "condition records 1"
RECORDS = "records.json"
MARKS = "marks.jsonld"
REPORT = "condition-report.pdf"
_PHOTOS, _FILES = "photos", "files"
_SHARED = (Person, Instrument)
_NOT_KEPT = ("task", "shop", "phone_pass", "watched_folder")


@dataclass(frozen=True, slots=True)
class Verified:
    """What a check came to; ``notes`` say what it proves and what it does not."""

    ok: bool
    problems: tuple[Problem, ...] = ()
    notes: tuple[Problem, ...] = ()


def archive_job(desk: Desk, job: Job, folder: Path) -> Path:
    """Write a job's archive into a new folder.

    Raises
    ------
    Refused
        ``bag.not_empty``: something is there already. ``store.photo_missing``: the vault lost a photo.
    """
    folder = Path(folder)
    with tempfile.TemporaryDirectory() as scratch:
        report = condition_report(desk, job, Path(scratch) / REPORT)
        info = {
            "Bag-Software-Agent": f"condition {condition.__version__}",
            "Bagging-Date": utc_now()[:10],
            "External-Identifier": job.name,
            "Internal-Sender-Identifier": job.id,
            "External-Description": desk.store.get(Instrument, job.instrument_id).title,
        }
        write_bag(folder, _payload(desk, job, report), info)
    return folder


def _payload(desk: Desk, job: Job, report: Path) -> Iterator[tuple[str, bytes | Path]]:
    records = records_of(desk, job)
    photos = [record for record in records if isinstance(record, Photo)]
    names = dict(zip((p.id for p in photos), unique_names([safe_name(p.file_name) for p in photos]), strict=True))
    files = [record for record in records if isinstance(record, Attachment)]
    attached = dict(zip((f.id for f in files), unique_names([safe_name(f.file_name) for f in files]), strict=True))
    told = {
        "form": FORM,
        "job": job.id,
        "photos": {photo.id: f"{_PHOTOS}/{names[photo.id]}" for photo in photos},
        "files": {file.id: f"{_FILES}/{attached[file.id]}" for file in files},
        "records": [{"kind": kind_of(one).name, "values": codec(type(one)).encode(one)} for one in records],
    }
    yield RECORDS, json.dumps(told, ensure_ascii=False, indent=1).encode()
    yield MARKS, _marks(records, photos, names).encode()
    yield REPORT, report
    for one, place in (
        *((photo, f"{_PHOTOS}/{names[photo.id]}") for photo in photos),
        *((file, f"{_FILES}/{attached[file.id]}") for file in files),
    ):
        if one.sha256 not in desk.store.vault:
            raise Refused("store.photo_missing", sha256=one.sha256)
        yield place, desk.store.vault.path(one.sha256)


def records_of(desk: Desk, job: Job) -> list[Any]:
    """Return the job and every record that belongs to it, whatever it refers to first."""
    kept: dict[type, dict[str, Any]] = {Job: {job.id: desk.store.get(Job, job.id)}}
    kinds = [kind for kind in KINDS if kind.name not in _NOT_KEPT and kind.record not in (Job, *_SHARED)]
    grown = True
    while grown:
        grown = False
        for kind in kinds:
            for field, target in kind.references.items():
                ids = [] if target in _SHARED else list(kept.get(target, ()))
                if not ids:
                    continue
                have = kept.setdefault(kind.record, {})
                new = {one.id: one for one in desk.store.find(kind.record, **{field: ids}) if one.id not in have}
                have.update(new)
                grown = grown or bool(new)
    shared: dict[type, dict[str, Any]] = {Person: {}, Instrument: {}}
    for kind in KINDS:
        for one in kept.get(kind.record, {}).values():
            for field, target in kind.references.items():
                wanted = getattr(one, field)
                if target in _SHARED and wanted:
                    shared[target][wanted] = desk.store.get(target, wanted)
    return [one for group in (*shared.values(), *kept.values()) for one in group.values()]


def _marks(records: list[Any], photos: list[Photo], names: dict[str, str]) -> str:
    findings = {one.id: one for one in records if isinstance(one, Finding)}
    pictures = [Picture(names[photo.id], photo.width, photo.height) for photo in photos]
    travelling = [
        _travelling(one, findings.get(one.finding_id or ""), names[one.photo_id])
        for one in records
        if isinstance(one, Mark)
    ]
    return write_page(travelling, pictures, created=utc_now())


def _travelling(mark: Mark, finding: Finding | None, name: str) -> TravellingMark:
    kind, own = (finding.kind, finding.own_kind) if finding else ("other", mark.role)
    words = ". ".join(filter(None, (f"{finding.number}", finding.place, finding.observation))) if finding else ""
    return TravellingMark(f"urn:uuid:{mark.id}", name, kind, own, words, mark.shape_px)


def verify(path: Path) -> Verified:
    """Check an archive (a folder) or a report given out (a PDF).

    Raises
    ------
    Refused
        ``archive.not_found``; ``seal.no_pdf``, ``seal.no_facts``: the file is no report of ours.
    """
    path = Path(path)
    if path.is_dir():
        problems = check_bag(path)
        if not problems:
            problems = _inside(path)
        return Verified(not problems, problems, (Problem(path.name, "archive.proves"),))
    try:
        facts, problems = facts_in(path.read_bytes())
    except OSError as error:
        raise Refused("archive.not_found", path=str(path)) from error
    notes = (
        Problem(path.name, "seal.proves", (("job", str(facts.get("job"))), ("when", str(facts.get("compiled_at"))))),
        Problem(path.name, "seal.proves_not"),
    )
    return Verified(not problems, problems, notes)


def _inside(folder: Path) -> tuple[Problem, ...]:
    """Check what a sound bag holds: the photos are those of the records, and the report agrees with its facts."""
    problems: list[Problem] = []
    if (folder / "data" / RECORDS).is_file():
        try:
            _read(folder)
        except Damaged as error:
            problems += error.problems
        except Refused as error:
            problems.append(Problem(f"data/{RECORDS}", error.code, error.named))
    report = folder / "data" / REPORT
    if report.is_file():
        try:
            problems += facts_in(report.read_bytes())[1]
        except Refused as error:
            problems.append(Problem(f"data/{REPORT}", error.code))
    return tuple(problems)


@dataclass(frozen=True, slots=True)
class _Archived:
    job: Job
    records: tuple[Any, ...]
    files: dict[str, Path]


def _read(folder: Path) -> _Archived:
    """Read the records of a checked bag and find the file of each photo and attachment.

    Raises
    ------
    Refused
        The records cannot be read.
    Damaged
        A file is not the one its record names.
    """
    source = folder / "data" / RECORDS
    if not source.is_file():
        raise Refused("archive.no_records")
    if source.stat().st_size > MOST_TAG_BYTES:
        raise Refused("archive.bad_records", why="size")
    try:
        told = json.loads(source.read_bytes())
        if told["form"] != FORM:
            raise Refused("archive.bad_records", why=str(told["form"])[:60])
        records = tuple(codec(kind_named(one["kind"]).record).decode(one["values"]) for one in told["records"])
        places = {str(key): str(value) for key, value in {**told["photos"], **told.get("files", {})}.items()}
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError, InvalidRecord) as error:
        raise Refused("archive.bad_records", why=str(error)[:160]) from error
    jobs = [one for one in records if isinstance(one, Job)]
    if len(jobs) != 1 or jobs[0].id != told.get("job"):
        raise Refused("archive.bad_records", why="job")
    files, problems = {}, []
    known = {
        path.relative_to(folder / "data").as_posix(): path for path in (folder / "data").rglob("*") if path.is_file()
    }
    for one in (one for one in records if isinstance(one, Photo | Attachment)):
        path = known.get(places.get(one.id, ""))
        if path is None:
            problems.append(Problem(one.file_name, "archive.no_photo"))
        elif _sha256(path) != one.sha256:
            problems.append(Problem(path.relative_to(folder).as_posix(), "archive.other_photo"))
        else:
            files[one.id] = path
    if problems:
        raise Damaged("archive.damaged", tuple(problems), folder=str(folder), count=len(problems))
    return _Archived(jobs[0], records, files)


def _sha256(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def restore_job(desk: Desk, folder: Path) -> Job:
    """Take an archived job back into the store, under the same ids; all of it or nothing.

    A client or instrument the store already knows stays as the store has it.

    Raises
    ------
    Damaged
        ``archive.damaged``: the archive fails its check; carries every problem.
    Refused
        ``archive.job_there``, ``archive.name_there``: the store has that job, or another of its name;
        ``photo.*``: a file in it is no photo that can be taken in.
    """
    folder = Path(folder)
    problems = check_bag(folder)
    if problems:
        raise Damaged("archive.damaged", problems, folder=str(folder), count=len(problems))
    archived = _read(folder)
    _require_room(desk, archived.job)
    _inspect(archived)
    for path in archived.files.values():
        desk.store.vault.put(path)
    with desk.store.write(new_id(), desk.person) as work:
        for one in archived.records:
            if isinstance(one, _SHARED) and work.one(type(one), id=one.id):
                continue
            work.put(replace(one, version=0))
    return desk.store.get(Job, archived.job.id)


def _require_room(desk: Desk, job: Job) -> None:
    if desk.store.find(Job, id=job.id):
        raise Refused("archive.job_there", job=job.name)
    if desk.store.find(Job, name=job.name):
        raise Refused("archive.name_there", job=job.name)


def _inspect(archived: _Archived) -> None:
    """Have every photo read in a worker before it is kept: an archive may come from anywhere."""
    from condition.flow.inspection import inspect_file
    from condition.flow.pool import shared

    photos = {one.id: one for one in archived.records if isinstance(one, Photo)}
    waiting = {
        key: shared().submit(inspect_file, str(path), path.name)
        for key, path in archived.files.items()
        if key in photos
    }
    for photo_id, answer in waiting.items():
        photo, seen = photos[photo_id], answer.result()
        if (seen.width, seen.height) != (photo.width, photo.height):
            raise Refused("archive.bad_records", why=say("archive.size", file=photo.file_name))

"""The demonstration job: an invented instrument, from ``demo_images/`` through every step of the work.

``demo_images/job.json`` holds what the examiner wrote and drew: shapes were marked by eye on the photos (upright
pixels), never taken from the truth the tests compare with.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from condition.errors import Refused
from condition.flow.demo_parts import parts
from condition.flow.demo_photos import FOLDER, drawn, taken_photo
from condition.flow.demo_plan import plan
from condition.flow.demo_readings import readings
from condition.flow.demo_return import return_check
from condition.flow.desk import Desk, new_id, open_desk
from condition.flow.findings import edit_finding, type_measurement
from condition.flow.jobs import describe, open_job, turn_view, view_named
from condition.records.finding import Finding
from condition.records.instrument import Instrument
from condition.records.job import Job
from condition.records.measurement import Measurement
from condition.records.person import Person
from condition.records.photo import Photo
from condition.records.view import View

Step = Callable[[Desk, Job, dict, dict[str, Photo]], None]
"""What one area adds to the demonstration: its own ``demo_images/NAME.json`` and the photos by file name."""

STEPS: dict[str, Step] = {"readings": readings, "parts": parts, "return": return_check, "plan": plan}
"""The areas after the examination, by the name of their file, in the order of a job."""

JOB_NAME = "DEMO-1"


def demo_is_here(desk: Desk) -> bool:
    return bool(desk.store.find(Job, name=JOB_NAME))


def open_demo(desk: Desk, progress: Callable[[float], None] = lambda share: None) -> Job:
    """Do the demonstration job in a store: client, instrument, photos, marks, findings.

    Raises
    ------
    Refused
        ``demo.no_photos``: the demonstration photos are not there; ``job.name_taken``: it was opened before.
    """
    script = FOLDER / "job.json"
    if not script.exists():
        raise Refused("demo.no_photos", folder=str(FOLDER))
    told = json.loads(script.read_text(encoding="utf-8"))
    steps = len(told["photos"]) + len(told["findings"]) + len(STEPS)
    job = _open(desk, told)
    photos: dict[str, Photo] = {}
    for entry in told["photos"]:
        photos[entry["file"]] = _photo(desk, job, entry)
        progress(len(photos) / steps)
    for count, entry in enumerate(told["findings"], 1):
        _finding(desk, entry, photos)
        progress((len(photos) + count) / steps)
    for count, (name, step) in enumerate(STEPS.items(), 1):
        step(desk, job, json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8")), photos)
        progress((len(photos) + len(told["findings"]) + count) / steps)
    return desk.store.get(Job, job.id)


def _open(desk: Desk, told: dict) -> Job:
    facts = told["instrument"]
    job = open_job(desk, JOB_NAME, title=facts["title"], family=facts["family"])
    describe(
        desk,
        replace(job, **_tuples(told["job"])),
        replace(desk.store.get(Instrument, job.instrument_id), **facts),
        Person(new_id(), **told["client"]),
    )
    return desk.store.get(Job, job.id)


def _tuples(values: dict) -> dict:
    return {key: tuple(value) if isinstance(value, list) else value for key, value in values.items()}


def _photo(desk: Desk, job: Job, entry: dict) -> Photo:
    view = view_named(desk, job, entry["view"])
    photo = taken_photo(desk, job, entry, view_id=view.id)
    if "neck_towards" in entry and view.neck_towards != entry["neck_towards"]:
        turn_view(desk, desk.store.get(View, view.id), entry["neck_towards"])
    for mark in entry.get("marks", ()):
        drawn(desk, photo, mark, mark["kind"], None)
    return photo


def _finding(desk: Desk, entry: dict, photos: dict[str, Photo]) -> None:
    finding_id = None
    for mark in entry["marks"]:
        answer = drawn(desk, photos[mark["photo"]], mark, entry["kind"], finding_id)
        finding_id = answer["mark"]["finding_id"]
    finding = edit_finding(desk, replace(desk.store.get(Finding, finding_id), **entry.get("words", {})))
    for typed in entry.get("typed", ()):
        overrules = typed.pop("overrules", False)
        finding = type_measurement(desk, finding, Measurement(**typed), overrules=overrules)


def run_demo(folder: Path) -> dict[str, object]:
    """Open the demonstration job in a fresh store under a folder and run all of it.

    Returns
    -------
    ``{"job", "report", "archive", "findings", "before_after", "client_summary", "return_check", "estimate",
    "handover"}``: the job's name, six paths, the number of findings, and what the return check came to,
    ``{"verdicts": {number: verdict}, "new": [number], "open": count}``

    Raises
    ------
    Refused
        ``demo.not_empty``: the folder already holds something.
    """
    from condition.flow.archiving import archive_job
    from condition.flow.demo_plan import plan_papers
    from condition.flow.demo_return import papers_of_demo
    from condition.flow.papers import condition_report

    folder = Path(folder)
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise Refused("demo.not_empty", folder=str(folder))
    desk = open_desk(folder / "store")
    job = open_demo(desk)
    report = condition_report(desk, job, folder / "condition-report.pdf")
    papers, came_to = papers_of_demo(desk, job, folder)
    more = plan_papers(desk, job, folder)
    archive = archive_job(desk, job, folder / "archive")
    findings = len(desk.store.find(Finding, job_id=job.id))
    told = {"job": job.name, "report": str(report), "archive": str(archive), "findings": findings}
    return {**told, **papers, **more, "return_check": came_to}

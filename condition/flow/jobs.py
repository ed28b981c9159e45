"""Jobs as the bench sees them: opened, described, found again."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from condition.errors import Refused
from condition.flow.days import local_day
from condition.flow.desk import Desk, new_id, utc_now
from condition.records.finding import Finding
from condition.records.instrument import Instrument
from condition.records.job import Job
from condition.records.person import Person
from condition.records.photo import Photo
from condition.records.view import NeckTowards, View

_NUMBERED = re.compile(r"(?P<year>[0-9]{4})-(?P<number>[0-9]{1,6})")


@dataclass(frozen=True, slots=True)
class JobCard:
    """One job at a glance."""

    job: Job
    instrument: Instrument
    client: Person | None
    photo_count: int
    finding_count: int
    cover: Photo | None


def open_job(desk: Desk, name: str, *, title: str = "", family: str = "other", client_name: str = "") -> Job:
    """Open a job for a new instrument.

    Raises
    ------
    Refused
        ``job.no_name`` or ``job.name_taken``
    """
    name = name.strip()
    if not name:
        raise Refused("job.no_name")
    if desk.store.find(Job, name=name):
        raise Refused("job.name_taken", name=name)
    instrument = Instrument(new_id(), title.strip() or name, family)
    client = Person(new_id(), client_name.strip(), "client") if client_name.strip() else None
    job = Job(new_id(), name, instrument.id, client.id if client else None, opened_at=utc_now())
    with desk.store.write(new_id(), desk.person) as work:
        work.put(instrument)
        if client:
            work.put(client)
        return work.put(job)


def next_job_name(desk: Desk) -> str:
    """Return the year and the number after its highest (``2026-042``), for who numbers jobs like that."""
    year = local_day(utc_now())[:4]
    numbers = (_NUMBERED.fullmatch(job.name) for job in desk.store.find(Job))
    taken = [int(found["number"]) for found in numbers if found and found["year"] == year]
    return f"{year}-{max(taken, default=0) + 1:03}"


def job_named(desk: Desk, name: str) -> Job:
    """Return the job of that name (or id).

    Raises
    ------
    Refused
        ``job.unknown``
    """
    found = desk.store.find(Job, name=name) or desk.store.find(Job, id=name)
    if not found:
        raise Refused("job.unknown", name=name)
    return found[0]


def find_or_open(desk: Desk, name: str) -> Job:
    """Return the job of that name, opened now if there is none."""
    found = desk.store.find(Job, name=name.strip())
    return found[0] if found else open_job(desk, name)


def job_card(desk: Desk, job: Job) -> JobCard:
    photos = desk.store.find(Photo, job_id=job.id)
    return JobCard(
        job,
        desk.store.get(Instrument, job.instrument_id),
        desk.store.get(Person, job.client_id) if job.client_id else None,
        len(photos),
        len(desk.store.find(Finding, job_id=job.id)),
        photos[0] if photos else None,
    )


def all_jobs(desk: Desk) -> tuple[JobCard, ...]:
    """Return every job, the newest first."""
    jobs = sorted(desk.store.find(Job), key=lambda job: job.opened_at, reverse=True)
    return tuple(job_card(desk, job) for job in jobs)


def describe(desk: Desk, job: Job, instrument: Instrument, client: Person | None) -> JobCard:
    """Keep the job's facts as edited on the page or given by the demonstration; unchanged records are left alone."""
    with desk.store.write(new_id(), desk.person) as work:
        if client is not None and client.name.strip():
            known = work.get(Person, client.id) if job.client_id == client.id else None
            if client != known:
                client = work.put(client)
            job = replace(job, client_id=client.id)
        if instrument != work.get(Instrument, instrument.id):
            work.put(instrument)
        if job != work.get(Job, job.id):
            job = work.put(job)
    return job_card(desk, job)


def views_of(desk: Desk, job: Job) -> tuple[View, ...]:
    return desk.store.find(View, job_id=job.id)


def view_named(desk: Desk, job: Job, name: str) -> View:
    """Return the job's face of that name, made now if there is none."""
    name = " ".join(name.split())
    if not name:
        raise Refused("view.no_name")
    known = [view for view in views_of(desk, job) if view.name == name]
    if known:
        return known[0]
    with desk.store.write(new_id(), desk.person) as work:
        return work.put(View(new_id(), job.id, name))


def turn_view(desk: Desk, view: View, neck_towards: NeckTowards) -> View:
    """Say where the neck points in the face's base photo; its frame and map follow."""
    with desk.store.write(new_id(), desk.person) as work:
        return work.put(replace(view, neck_towards=neck_towards))

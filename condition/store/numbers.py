"""Finding numbers: one job, one number, one finding, for good."""

from __future__ import annotations

from sqlalchemy import Connection, func, select, update

from condition.errors import Refused
from condition.records.finding import Finding
from condition.records.job import Job
from condition.store.schema import TABLES, number

_job = TABLES["job"]


def take(connection: Connection, job: Job) -> int:
    """Return the job's next number and raise its counter."""
    counted = connection.execute(select(_job.c.last_finding_number).where(_job.c.id == job.id)).scalar() or 0
    used = connection.execute(select(func.max(number.c.number)).where(number.c.job_id == job.id)).scalar() or 0
    following = max(counted, used, job.last_finding_number) + 1
    _raise_counter(connection, job.id, following)
    return following


def claim(connection: Connection, finding: Finding, before: Finding | None) -> None:
    """Make a finding's number its own, unless it had it before.

    Raises
    ------
    Refused
        ``store.number_used``: another finding of the job has it or had it.
    """
    if before is not None and (before.job_id, before.number) == (finding.job_id, finding.number):
        return
    owner = select(number.c.finding_id).where(number.c.job_id == finding.job_id, number.c.number == finding.number)
    owned_by = connection.execute(owner).scalar()
    if owned_by is None:
        claimed = {"job_id": finding.job_id, "number": finding.number, "finding_id": finding.id}
        connection.execute(number.insert(), claimed)
        _raise_counter(connection, finding.job_id, finding.number)
    elif owned_by != finding.id:
        raise Refused("store.number_used", number=finding.number)


def _raise_counter(connection: Connection, job_id: str, least: int) -> None:
    raised = update(_job).where(_job.c.id == job_id, _job.c.last_finding_number < least)
    connection.execute(raised.values(last_finding_number=least))

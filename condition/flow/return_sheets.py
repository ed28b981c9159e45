"""The return checks of a job, ready for the report."""

from __future__ import annotations

from condition.flow.desk import Desk
from condition.flow.return_changes import changes_of
from condition.flow.return_check import checks_of, pairs_of, unpaired
from condition.flow.return_doubt import doubt_of
from condition.flow.return_verdicts import verdicts_of
from condition.records.job import Job
from condition.records.return_check import ReturnCheck
from condition.records.return_sheet import ReturnEntry


def return_entries(desk: Desk, job: Job) -> tuple[ReturnEntry, ...]:
    """Return the checks on which something was compared, in the order they were begun."""
    entries = (return_entry(desk, check) for check in checks_of(desk, job))
    return tuple(entry for entry in entries if any(pair.state == "compared" for pair in entry.pairs))


def return_entry(desk: Desk, check: ReturnCheck) -> ReturnEntry:
    not_again, alone = unpaired(desk, check)
    changes = changes_of(desk, check)
    return ReturnEntry(
        check,
        tuple(pair for pair in pairs_of(desk, check) if pair.state in ("compared", "refused")),
        changes,
        verdicts_of(desk, check),
        tuple(photo.id for photo in not_again),
        tuple(photo.id for photo in alone),
        doubt_of(desk, check, changes)[1],
    )

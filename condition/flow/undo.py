"""What was taken off a job comes back as it was."""

from __future__ import annotations

from typing import TypeVar

from condition.flow.desk import Desk, new_id

R = TypeVar("R")


def put_back(desk: Desk, record: type[R], record_id: str) -> R:
    """Put a removed record back.

    Raises
    ------
    Refused
        ``store.not_removed``: it is there, or never was.
    """
    with desk.store.write(new_id(), desk.person) as work:
        return work.restore(record, record_id)

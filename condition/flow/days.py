"""Local days of UTC times, as papers and due dates have them."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta

from condition.errors import Refused


def local_day(at: str) -> str:
    """Return the day a UTC time (ISO 8601 with Z) falls on where this machine stands, ``YYYY-MM-DD``."""
    return datetime.fromisoformat(at).astimezone().date().isoformat()


def days_after(day: str, count: int) -> str:
    return (date.fromisoformat(day) + timedelta(days=count)).isoformat()


def require_day(day: str) -> str:
    """Return a local day as given, empty for none.

    Raises
    ------
    Refused
        ``plan.no_day``: it is not written ``YYYY-MM-DD``.
    """
    try:
        return date.fromisoformat(day).isoformat() if day else ""
    except ValueError as error:
        raise Refused("plan.no_day", given=day) from error


def at_local(day: str, clock: str = "12:00") -> str:
    """Return a local day and time of day as UTC, ISO 8601 with Z."""
    local = datetime.combine(date.fromisoformat(require_day(day)), time.fromisoformat(clock)).astimezone()
    return local.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")

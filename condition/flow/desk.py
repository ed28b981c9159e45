"""The desk every step works at: the store, who is working, and the clock."""

from __future__ import annotations

import os
import threading
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from uuid import uuid4

from condition.store import Store, default_folder


def utc_now() -> str:
    """Return the time as ISO 8601 UTC to the second, with Z."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def new_id() -> str:
    return str(uuid4())


@dataclass(frozen=True, slots=True)
class Desk:
    """A store opened for one person. Safe to share between threads."""

    store: Store
    person: str = "bench"

    @property
    def cache(self) -> Path:
        """Pictures that can be made again (tiles, thumbnails, close-ups); may be deleted at any time."""
        return self.store.folder / "cache"


def store_folder(given: str | Path | None = None) -> Path:
    """Return the store's folder: the one given, or ``CONDITION_STORE``, or the user's data folder."""
    return Path(given or os.environ.get("CONDITION_STORE") or default_folder())


def open_desk(folder: str | Path | None = None, person: str = "bench") -> Desk:
    """Open (or make) the store.

    Raises
    ------
    Refused
        The folder cannot serve as a store; the error says why and what to do.
    """
    return Desk(Store.open(store_folder(folder)), person)


_current: Desk | None = None
_lock = threading.Lock()


def current() -> Desk:
    """Return the one desk of this process (the pages and their routes share it)."""
    global _current
    with _lock:
        if _current is None:
            _current = open_desk()
        return _current

"""Where a store stands and what stands in it."""

from __future__ import annotations

import os
from pathlib import Path

DATABASE = "bench.sqlite"
PHOTOS = "photos"
CACHE = "cache"
ARRIVING = "arriving"
"""Files that came in and wait for their turn to be taken in, by a stored task."""

OLDER = "older"
"""Copies of the database, made before it was brought up to a newer form."""

VARIABLE = "CONDITION_STORE"


def default_folder() -> Path:
    """Return the folder ``CONDITION_STORE`` names, or the one in the user's data directory."""
    if named := os.environ.get(VARIABLE):
        return Path(named)
    from platformdirs import user_data_path

    return user_data_path("condition", appauthor=False) / "store"


OWN_NAMES = frozenset(
    {DATABASE, f"{DATABASE}-wal", f"{DATABASE}-shm", f"{DATABASE}-journal", PHOTOS, CACHE, ARRIVING, OLDER}
)


def strangers(folder: Path) -> list[str]:
    """Return what stands in the folder and is not a store's; hidden files of the system do not count."""
    return sorted(p.name for p in folder.iterdir() if p.name not in OWN_NAMES and not p.name.startswith("."))

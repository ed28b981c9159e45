"""Keeping the store: checking it and copying it. Works on the folder, so that a damaged store can be looked at."""

from __future__ import annotations

from pathlib import Path

from condition.store import Checked, back_up, check_store


def check(folder: Path) -> Checked:
    """Check the store in a folder and mend what is safe to mend; see :func:`condition.store.check.check_store`."""
    return check_store(folder)


def backup(folder: Path, target: Path) -> Path:
    """Copy the store into a new folder while it is in use; see :func:`condition.store.backup.back_up`."""
    return back_up(folder, target)

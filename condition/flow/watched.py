"""Watched folders: new pictures that appear in a folder are taken into a job; the files there stay as they are."""

from __future__ import annotations

import hashlib
import os
import threading
from dataclasses import dataclass, field, replace
from pathlib import Path

from condition.errors import ConditionError, Refused
from condition.flow.desk import Desk, new_id
from condition.flow.intake import TakenIn, take_in
from condition.records.arrivals import WatchedFolder
from condition.records.job import Job
from condition.records.photo import Occasion

SUFFIXES = (".jpg", ".jpeg", ".heic", ".heif", ".png", ".tif", ".tiff", ".webp")
EVERY_S = 2.0
MOST_TOLD = 50

Seen = tuple[str, int, int]
"""A file's path, size in bytes and time of last change in nanoseconds."""


def watch(
    desk: Desk, job: Job, path: str, *, occasion: Occasion = "intake", view_id: str | None = None
) -> WatchedFolder:
    """Watch a folder for a job; what lies in it now comes in too. A job watches one folder at a time.

    Raises
    ------
    Refused
        ``watched.no_folder``: there is no such folder or it cannot be read. ``watched.own``: it is the store's own.
    """
    folder = Path(path).expanduser()
    if not path.strip() or not folder.is_dir() or not os.access(folder, os.R_OK | os.X_OK):
        raise Refused("watched.no_folder", folder=path)
    if folder.resolve().is_relative_to(desk.store.folder.resolve()):
        raise Refused("watched.own", folder=path)
    known = watched(desk, job)
    new = WatchedFolder(
        known.id if known else new_id(),
        job.id,
        str(folder.resolve()),
        occasion,
        view_id,
        version=known.version if known else 0,
    )
    with desk.store.write(new_id(), desk.person) as work:
        return work.put(new)


def watched(desk: Desk, job: Job) -> WatchedFolder | None:
    """Return the folder watched for a job, whether it is on or off."""
    return next(iter(desk.store.find(WatchedFolder, job_id=job.id)), None)


def leave_off(desk: Desk, folder: WatchedFolder) -> WatchedFolder:
    with desk.store.write(new_id(), desk.person) as work:
        return work.put(replace(work.get(WatchedFolder, folder.id), on=False))


@dataclass(slots=True)
class Watcher:
    """Looks at the watched folders again and again; a file is taken once it has kept its size between two looks."""

    desk: Desk
    told: list[TakenIn] = field(default_factory=list)
    _growing: dict[str, Seen] = field(default_factory=dict)
    _done: set[Seen] = field(default_factory=set)

    def look(self) -> list[TakenIn]:
        """Look once; return what came of the files that were taken."""
        taken: list[TakenIn] = []
        for folder in self.desk.store.find(WatchedFolder, on=True):
            job = self.desk.store.get(Job, folder.job_id)
            ready = [seen for seen in self._pictures(Path(folder.path)) if self._settled(seen)]
            files = [(Path(seen[0]).name, Path(seen[0])) for seen in ready if not self._known(seen)]
            taken += take_in(self.desk, job, files, view_id=folder.view_id, occasion=folder.occasion)
            self._done.update(ready)
        self.told = (self.told + [one for one in taken if one.error is not None])[-MOST_TOLD:]
        return taken

    def _settled(self, seen: Seen) -> bool:
        before = self._growing.get(seen[0])
        self._growing[seen[0]] = seen
        return before == seen and seen not in self._done and seen[1] > 0

    def _known(self, seen: Seen) -> bool:
        """Whether the store has these bytes: a photo removed from its job does not come back by itself."""
        with Path(seen[0]).open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest() in self.desk.store.vault

    def _pictures(self, folder: Path) -> list[Seen]:
        try:
            with os.scandir(folder) as entries:
                found = [
                    (entry.path, entry.stat().st_size, entry.stat().st_mtime_ns)
                    for entry in entries
                    if entry.name.lower().endswith(SUFFIXES) and not entry.name.startswith(".") and entry.is_file()
                ]
        except OSError:
            return []
        return sorted(found, key=lambda seen: (seen[2], seen[0]))


_watcher: Watcher | None = None
_lock = threading.Lock()


def keep_watch(desk: Desk) -> Watcher:
    """Begin to look, in a thread that ends with the program; begun twice, it is begun once."""
    global _watcher
    with _lock:
        if _watcher is None:
            _watcher = Watcher(desk)
            threading.Thread(target=_watch, args=(_watcher, threading.Event()), daemon=True).start()
        return _watcher


def _watch(watcher: Watcher, never: threading.Event) -> None:
    while not never.wait(EVERY_S):
        try:
            watcher.look()
        except (ConditionError, OSError):
            continue

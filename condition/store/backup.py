"""A safe copy of the store while it is in use: whole and checked, or not there at all."""

from __future__ import annotations

import os
import shutil
import tempfile
from pathlib import Path

from condition.errors import Damaged, Problem, Refused
from condition.store.check import check_store
from condition.store.connect import plain
from condition.store.places import DATABASE, PHOTOS
from condition.store.told import told
from condition.store.vault import Vault, sync_folder

_PATIENCE_S = 15.0


def back_up(folder: Path, target: Path) -> Path:
    """Copy database and photos into a new or empty folder and check the copy; returns the folder.

    The database is copied first, as it stands at one moment; photos are only ever added, so those it speaks of are
    there. The copy is a store of its own: open it as it is, or copy it to where the store is to be.

    Raises
    ------
    Refused
        The target holds something, or lies in the store; the disk is full. Nothing is left behind.
    Damaged
        ``store.backup_failed``: the store, or the copy, is not sound; all problems are carried.
    """
    folder, target = Path(folder).absolute(), Path(target).absolute()
    if not (folder / DATABASE).is_file():
        raise Refused("store.no_store", folder=str(folder))
    _require_free(folder, target)
    with told(target):
        target.parent.mkdir(parents=True, exist_ok=True)
        copy = Path(tempfile.mkdtemp(prefix=f".{target.name}.new-", dir=target.parent))
        try:
            _copy(folder, copy)
            if target.exists():
                target.rmdir()
            os.rename(copy, target)
            sync_folder(target.parent)
        except Refused as error:
            raise Refused(error.code, **{**error.values, "folder": str(target)}) from error
        finally:
            shutil.rmtree(copy, ignore_errors=True)
    return target


def copy_database(database: Path, target: Path) -> None:
    """Copy a database as it stands at one moment, whatever is written meanwhile, and flush the copy to the disk."""
    source = plain(database, _PATIENCE_S)
    try:
        copy = plain(target, _PATIENCE_S, create=True)
        try:
            source.backup(copy)
        finally:
            copy.close()
    finally:
        source.close()
    with target.open("rb") as file:
        os.fsync(file.fileno())
    sync_folder(target.parent)


def _require_free(folder: Path, target: Path) -> None:
    if target.exists() and not target.is_dir():
        raise Refused("store.not_a_folder", folder=str(target))
    if target.resolve().is_relative_to(folder.resolve()):
        raise Refused("store.backup_inside", folder=str(target))
    if target.is_dir() and any(target.iterdir()):
        raise Refused("store.backup_not_empty", folder=str(target))


def _copy(folder: Path, copy: Path) -> None:
    with told(folder):
        copy_database(folder / DATABASE, copy / DATABASE)
    (copy / PHOTOS).mkdir()
    vault, kept = Vault(folder / PHOTOS), Vault(copy / PHOTOS)
    problems: list[Problem] = []
    for sha256 in vault:
        path = vault.path(sha256)
        where = path.relative_to(folder).as_posix()
        try:
            if kept.put(path) != sha256:
                problems.append(Problem(where, "store.photo_altered"))
        except Refused as error:
            if error.code != "store.source_unreadable":
                raise
            problems.append(Problem(where, "store.photo_unreadable"))
    problems += check_store(copy).problems if not problems else ()
    if problems:
        raise Damaged("store.backup_failed", tuple(problems), folder=str(folder))

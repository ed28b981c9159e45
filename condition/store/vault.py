"""The photos' bytes, each file under the SHA-256 of its content. Files are added, never altered.

A file is written under a temporary name in the same folder, hashed on the way, flushed to the disk and renamed
when it is whole; the folder is flushed too. The same bytes are kept once.
"""

from __future__ import annotations

import hashlib
import os
import re
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from condition.errors import Problem, Refused
from condition.store.told import told

TEMPORARY = ".new-"
"""First letters of the name of a file that is not whole yet."""

_CHUNK = 1 << 20
_SHA256 = re.compile(r"[0-9a-f]{64}")


class Vault:
    """A folder of files named by their SHA-256, spread over sub-folders by its first two digits."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def put(self, data: bytes | Path) -> str:
        """Keep the bytes, or the bytes of a file, and return their SHA-256 (64 small hexadecimal digits).

        Raises
        ------
        Refused
            ``store.source_unreadable``: the file cannot be read. ``store.disk_full``, ``store.read_only``.
        """
        chunks = iter((data,)) if isinstance(data, bytes) else _chunks_of(data)
        with told(self.folder):
            handle, name = tempfile.mkstemp(prefix=TEMPORARY, dir=self.folder)
            temporary = Path(name)
            try:
                with os.fdopen(handle, "wb") as file:
                    sha256 = _copy(chunks, file)
                self._settle(temporary, sha256)
            except BaseException:
                temporary.unlink(missing_ok=True)
                raise
        return sha256

    def path(self, sha256: str) -> Path:
        """Return where the file of this SHA-256 is kept, whether it is there or not; ValueError for no SHA-256."""
        if not _SHA256.fullmatch(sha256):
            raise ValueError(f"{sha256!r} is no SHA-256")
        return self.folder / sha256[:2] / sha256

    def open(self, sha256: str) -> BinaryIO:
        """Open a kept file for reading.

        Raises
        ------
        Refused
            ``store.photo_missing``: the vault has no such file.
        """
        try:
            return self.path(sha256).open("rb")
        except FileNotFoundError:
            raise Refused("store.photo_missing", sha256=sha256) from None

    def __contains__(self, sha256: str) -> bool:
        return self._is_kept(self.path(sha256))

    def __iter__(self) -> Iterator[str]:
        """Yield the SHA-256 of every kept file, sorted."""
        for path in sorted(self.folder.glob("??/*")):
            if self._is_kept(path):
                yield path.name

    def verify(self) -> tuple[Problem, ...]:
        """Read every file again and return those whose bytes are not what their name says, and what is none of ours."""
        problems = []
        for path in sorted(p for p in self.folder.rglob("*") if not p.is_dir() or p.is_symlink()):
            if path.name.startswith("."):
                continue
            where = path.relative_to(self.folder.parent).as_posix()
            if not self._is_kept(path):
                problems.append(Problem(where, "store.stranger"))
            elif (found := _read_sha256(path)) is None:
                problems.append(Problem(where, "store.photo_unreadable"))
            elif found != path.name:
                problems.append(Problem(where, "store.photo_altered"))
        return tuple(problems)

    def _is_kept(self, path: Path) -> bool:
        """Say whether a path is a file of ours: of its own, not a link elsewhere, under the name of its content."""
        named = _SHA256.fullmatch(path.name) and path.parent.name == path.name[:2]
        return bool(named) and path.is_file() and not path.is_symlink()

    def _settle(self, temporary: Path, sha256: str) -> None:
        """Rename a whole file to its name; a copy that is there and sound stays."""
        final = self.path(sha256)
        if self._is_kept(final) and _read_sha256(final) == sha256:
            temporary.unlink()
        else:
            final.parent.mkdir(exist_ok=True)
            os.chmod(temporary, 0o444)
            os.replace(temporary, final)
        sync_folder(final.parent)
        sync_folder(self.folder)


def sync_folder(folder: Path) -> None:
    """Have the folder's names written to the disk (where the system offers that)."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _copy(chunks: Iterator[bytes], file: BinaryIO) -> str:
    digest = hashlib.sha256()
    for chunk in chunks:
        digest.update(chunk)
        file.write(chunk)
    file.flush()
    os.fsync(file.fileno())
    return digest.hexdigest()


def _chunks_of(path: Path) -> Iterator[bytes]:
    try:
        with path.open("rb") as file:
            while chunk := file.read(_CHUNK):
                yield chunk
    except OSError as error:
        why = error.strerror or type(error).__name__
        raise Refused("store.source_unreadable", file=path.name, why=why) from error


def _read_sha256(path: Path) -> str | None:
    """Return the SHA-256 of a file's bytes, None when it cannot be read."""
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return None

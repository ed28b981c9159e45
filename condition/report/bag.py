"""A BagIt archive: written whole or not at all, and checked for sameness and for harmlessness.

Source: RFC 8493, The BagIt File Packaging Format (V1.0), October 2018.
"""

from __future__ import annotations

import hashlib
import os
import re
import shutil
import stat
import tempfile
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from condition.errors import Problem, Refused

ALGORITHMS = ("sha256", "sha512")
MOST_TAG_BYTES = 64_000_000
MOST_FILES = 200_000
MOST_PROBLEMS = 1000

_CHUNK = 1 << 20
_DECLARATION = b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
_VERSION = re.compile(rb"BagIt-Version: \d+\.\d+\r?\nTag-File-Character-Encoding: UTF-8(?:\r?\n)?")
_MANIFEST = re.compile(r"(tag)?manifest-([a-z0-9]+)\.txt")
_LINE = re.compile(r"([0-9A-Fa-f]+)[ \t]+\*?(\S.*)")
_OXUM = re.compile(r"^Payload-Oxum:[ \t]*(\d+)\.(\d+)[ \t]*$", re.MULTILINE | re.IGNORECASE)
_LENGTHS = {"md5": 32, "sha1": 40, "sha224": 56, "sha256": 64, "sha384": 96, "sha512": 128}
_RESERVED = re.compile(r"(?:con|prn|aux|nul|com\d|lpt\d)(?:\..*)?", re.IGNORECASE)


def safe_name(name: str) -> str:
    """Return a file name that every file system takes, as near to the given one as can be."""
    kept = "".join("_" if c in '/\\:*?"<>|' or unicodedata.category(c) in ("Cc", "Cs") else c for c in name)
    kept = unicodedata.normalize("NFC", kept).strip(" .") or "file"
    if _RESERVED.fullmatch(kept) or kept.startswith("~"):
        kept = "_" + kept
    stem, ending = os.path.splitext(kept)
    while len((stem + ending).encode()) > 180:
        stem, ending = (stem[:-1], ending) if stem else ("file", ending[:20])
    return stem + ending


def write_bag(folder: Path, payload: Iterable[tuple[str, bytes | Path]], info: Mapping[str, str]) -> None:
    """Write a bag: staged beside its place, flushed to the disk, then renamed.

    Parameters
    ----------
    payload : path below ``data/`` (posix) and the bytes, or the file to copy
    info : what ``bag-info.txt`` says besides Payload-Oxum

    Raises
    ------
    Refused
        ``bag.not_empty``: something is there already. ``bag.changed``: a file to copy is not there.
    """
    folder = Path(folder).absolute()
    if folder.is_symlink() or (folder.exists() and (not folder.is_dir() or any(folder.iterdir()))):
        raise Refused("bag.not_empty", folder=str(folder))
    folder.parent.mkdir(parents=True, exist_ok=True)
    stage = Path(tempfile.mkdtemp(prefix=f".{folder.name[:40]}-", dir=folder.parent))
    try:
        _fill(stage, payload, info)
        stage.chmod(0o755)
        os.replace(stage, folder)
        _sync_folder(folder.parent)
    except BaseException:
        shutil.rmtree(stage, ignore_errors=True)
        raise


def _fill(stage: Path, payload: Iterable[tuple[str, bytes | Path]], info: Mapping[str, str]) -> None:
    sums: dict[str, tuple[str, ...]] = {}
    total = 0
    for path, content in payload:
        name = f"data/{path}"
        if is_unsafe(name) or name in sums:
            raise ValueError(f"payload path {path!r}")
        target = stage / name
        target.parent.mkdir(parents=True, exist_ok=True)
        sums[name], size = _copied(content, target)
        total += size
    (stage / "data").mkdir(exist_ok=True)
    tags = {"bagit.txt": _DECLARATION, "bag-info.txt": _info(info, total, len(sums))}
    for k, algorithm in enumerate(ALGORITHMS):
        lines = "".join(f"{digests[k]}  {_encoded(name)}\n" for name, digests in sorted(sums.items()))
        tags[f"manifest-{algorithm}.txt"] = lines.encode()
    for algorithm in ALGORITHMS:
        lines = "".join(
            f"{hashlib.new(algorithm, tags[name]).hexdigest()}  {name}\n"
            for name in sorted(tags)
            if not name.startswith("tag")
        )
        tags[f"tagmanifest-{algorithm}.txt"] = lines.encode()
    for name, content in tags.items():
        _copied(content, stage / name)
    for below, _, _ in os.walk(stage):
        _sync_folder(Path(below))


def _info(info: Mapping[str, str], total: int, count: int) -> bytes:
    lines = {**info, "Payload-Oxum": f"{total}.{count}"}
    return "".join(f"{label}: {' '.join(value.split())}\n" for label, value in lines.items() if value.strip()).encode()


def _copied(content: bytes | Path, target: Path) -> tuple[tuple[str, ...], int]:
    digests = [hashlib.new(algorithm) for algorithm in ALGORITHMS]
    size = 0
    with target.open("xb") as file:
        for chunk in _chunks(content):
            file.write(chunk)
            size += len(chunk)
            for digest in digests:
                digest.update(chunk)
        file.flush()
        os.fsync(file.fileno())
    return tuple(digest.hexdigest() for digest in digests), size


def _chunks(content: bytes | Path) -> Iterator[bytes]:
    if isinstance(content, bytes):
        yield content
        return
    try:
        with content.open("rb") as file:
            while chunk := file.read(_CHUNK):
                yield chunk
    except FileNotFoundError as error:
        raise Refused("bag.changed", file=content.name) from error


def _sync_folder(folder: Path) -> None:
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _encoded(path: str) -> str:
    return path.replace("%", "%25").replace("\n", "%0A").replace("\r", "%0D")


def _decoded(path: str) -> str:
    return re.sub("%(0[Aa]|0[Dd]|25)", lambda found: chr(int(found[1], 16)), path)


def is_unsafe(path: str) -> bool:
    """Tell whether a path could lead out of the bag, on any system. Source: RFC 8493, 5.2 (security)."""
    parts = PurePosixPath(path).parts
    return (
        not parts
        or path.startswith(("/", "~", "\\"))
        or "\\" in path
        or "\0" in path
        or ".." in parts
        or bool(re.match(r"[A-Za-z]:", path))
        or path != PurePosixPath(path).as_posix()
    )


@dataclass(frozen=True, slots=True)
class _Found:
    """Regular files of a bag: path (posix) to its size; what is neither file nor folder is a problem."""

    sizes: dict[str, int]
    problems: list[Problem]


def check_bag(folder: Path) -> tuple[Problem, ...]:
    """Return everything wrong with a bag: altered, missing, unlisted and unsafe files, links, fetch lists, form.

    Nothing outside the folder is read: links are told, never followed.
    """
    folder = Path(folder)
    if folder.is_symlink() or not folder.is_dir():
        return (Problem(str(folder), "bag.no_folder"),)
    if not any(os.path.lexists(folder / part) for part in ("bagit.txt", "data")):
        return (Problem("bagit.txt", "bag.no_bagit"),)
    found = _walk(folder)
    problems = found.problems
    problems += _declaration(folder, found)
    if "fetch.txt" in found.sizes:
        problems.append(Problem("fetch.txt", "bag.fetch"))
    payload = {path for path in found.sizes if path.startswith("data/")}
    if not (folder / "data").is_dir():
        problems.append(Problem("data", "bag.no_data"))
    manifests = {name: match for name in found.sizes if (match := _MANIFEST.fullmatch(name))}
    if not any(not match[1] for match in manifests.values()):
        problems.append(Problem("manifest-sha256.txt", "bag.no_manifest"))
    wanted: dict[str, dict[str, str]] = {}
    for name, match in sorted(manifests.items()):
        problems += _check_manifest(folder, name, match, found, payload, wanted)
    problems += _check_sums(folder, wanted)
    problems += _oxum(folder, found, payload)
    return tuple(problems[:MOST_PROBLEMS])


def _walk(folder: Path) -> _Found:
    found = _Found({}, [])
    waiting = [folder]
    while waiting:
        below = waiting.pop()
        try:
            entries = sorted(os.scandir(below), key=lambda entry: entry.name)
        except OSError:
            found.problems.append(Problem(_relative(below, folder), "bag.unreadable"))
            continue
        for entry in entries:
            path = _relative(Path(entry.path), folder)
            mode = entry.stat(follow_symlinks=False).st_mode
            if stat.S_ISLNK(mode):
                found.problems.append(Problem(path, "bag.link"))
            elif stat.S_ISDIR(mode):
                waiting.append(Path(entry.path))
            elif stat.S_ISREG(mode):
                found.sizes[path] = entry.stat(follow_symlinks=False).st_size
            else:
                found.problems.append(Problem(path, "bag.no_file"))
            if len(found.sizes) > MOST_FILES:
                found.problems.append(Problem(".", "bag.too_many", (("most", str(MOST_FILES)),)))
                return found
    return found


def _relative(path: Path, folder: Path) -> str:
    return path.relative_to(folder).as_posix().encode("utf-8", "backslashreplace").decode()


def _declaration(folder: Path, found: _Found) -> list[Problem]:
    if "bagit.txt" not in found.sizes:
        return [Problem("bagit.txt", "bag.no_bagit")]
    data = _tag_bytes(folder, "bagit.txt", found)
    if data is None or not _VERSION.fullmatch(data):
        return [Problem("bagit.txt", "bag.bad_bagit")]
    version = data.split(b"\n")[0].split()[1].decode()
    return [] if version in ("1.0", "0.97") else [Problem("bagit.txt", "bag.version", (("version", version),))]


def _tag_bytes(folder: Path, name: str, found: _Found) -> bytes | None:
    if found.sizes.get(name, MOST_TAG_BYTES + 1) > MOST_TAG_BYTES:
        return None
    try:
        return (folder / name).read_bytes()
    except OSError:
        return None


def _check_manifest(
    folder: Path, name: str, match: re.Match, found: _Found, payload: set[str], wanted: dict[str, dict[str, str]]
) -> list[Problem]:
    algorithm = match[2]
    if algorithm not in _LENGTHS:
        return [Problem(name, "bag.unknown_sum", (("algorithm", algorithm),))]
    data = _tag_bytes(folder, name, found)
    try:
        text = None if data is None else data.decode("utf-8")
    except UnicodeDecodeError:
        text = None
    if text is None:
        return [Problem(name, "bag.unreadable")]
    problems, listed = [], set()
    for number, line in enumerate(text.splitlines(), 1):
        parsed = _LINE.fullmatch(line)
        if not parsed or len(parsed[1]) != _LENGTHS[algorithm]:
            problems.append(Problem(name, "bag.bad_line", (("number", str(number)),)))
            continue
        path = _decoded(parsed[2])
        if is_unsafe(path):
            problems.append(Problem(name, "bag.unsafe_path", (("number", str(number)), ("given", path[:120]))))
        elif path in listed:
            problems.append(Problem(path, "bag.twice", (("manifest", name),)))
        elif not match[1] and not path.startswith("data/"):
            problems.append(Problem(path, "bag.not_payload", (("manifest", name),)))
        elif match[1] and (path.startswith("data/") or path.startswith("tagmanifest-")):
            problems.append(Problem(path, "bag.not_tag", (("manifest", name),)))
        elif path not in found.sizes:
            problems.append(Problem(path, "bag.missing", (("manifest", name),)))
        else:
            wanted.setdefault(path, {})[algorithm] = parsed[1].lower()
        listed.add(path)
    if not match[1]:
        problems += [Problem(path, "bag.stranger", (("manifest", name),)) for path in sorted(payload - listed)]
    else:
        tags = [path for path in found.sizes if (form := _MANIFEST.fullmatch(path)) and not form[1]]
        problems += [Problem(path, "bag.stranger", (("manifest", name),)) for path in tags if path not in listed]
    return problems


def _check_sums(folder: Path, wanted: dict[str, dict[str, str]]) -> list[Problem]:
    problems = []
    for path, sums in sorted(wanted.items()):
        digests = {algorithm: hashlib.new(algorithm) for algorithm in sums}
        try:
            handle = os.open(folder / path, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0))
            with os.fdopen(handle, "rb") as file:
                while chunk := file.read(_CHUNK):
                    for digest in digests.values():
                        digest.update(chunk)
        except OSError:
            problems.append(Problem(path, "bag.unreadable"))
            continue
        problems += [
            Problem(path, "bag.altered", (("algorithm", algorithm),))
            for algorithm, digest in digests.items()
            if digest.hexdigest() != sums[algorithm]
        ][:1]
    return problems


def _oxum(folder: Path, found: _Found, payload: set[str]) -> list[Problem]:
    data = _tag_bytes(folder, "bag-info.txt", found)
    stated = _OXUM.search(data.decode("utf-8", "replace")) if data else None
    if not stated:
        return []
    total = sum(found.sizes[path] for path in payload)
    if (int(stated[1]), int(stated[2])) == (total, len(payload)):
        return []
    values = (("stated", f"{stated[1]}.{stated[2]}"), ("found", f"{total}.{len(payload)}"))
    return [Problem("bag-info.txt", "bag.oxum", values)]

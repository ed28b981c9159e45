"""Files written whole or not at all."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable
from pathlib import Path


def write_whole(out: Path, data: bytes) -> Path:
    """Write a file beside its place and put it there in one step; an older one stays until then."""
    return written_whole(out, lambda part: part.write_bytes(data))


def written_whole(out: Path, write: Callable[[Path], object]) -> Path:
    """Have a file written beside its place and put it there in one step; an older one stays until then."""
    out = Path(out)
    out.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=out.parent, suffix=".part")
    os.close(handle)
    part = Path(name)
    try:
        write(part)
        part.chmod(0o644)
        part.replace(out)
    finally:
        part.unlink(missing_ok=True)
    return out

"""The trade's tables as they lie in ``data``: each file begins with a line that names its source."""

from __future__ import annotations

import csv
from functools import cache
from pathlib import Path

FOLDER = Path(__file__).parent / "data"


@cache
def rows(name: str) -> tuple[dict[str, str], ...]:
    """The rows of ``data/<name>.csv`` as written."""
    lines = (FOLDER / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    return tuple(csv.DictReader(line for line in lines if not line.startswith("#")))


@cache
def source(name: str) -> str:
    """Where ``data/<name>.csv`` comes from."""
    first = (FOLDER / f"{name}.csv").read_text(encoding="utf-8").split("\n", 1)[0]
    return first.split("ource:", 1)[1].strip()

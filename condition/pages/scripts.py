"""The script and the style of a component, joined from files of one idea each: a component gets each as one text."""

from __future__ import annotations

from pathlib import Path

ELEMENT = Path(__file__).parent / "element.js"


def joined(*paths: Path) -> str:
    return "\n".join(path.read_text(encoding="utf-8") for path in paths)

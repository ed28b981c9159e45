"""The report's typefaces, and which of them can set a text: chosen run by run, and nothing is lost silently."""

from __future__ import annotations

import unicodedata
from functools import cache
from pathlib import Path
from typing import Literal
from xml.sax.saxutils import escape

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

Face = Literal["text", "italic", "semibold", "display", "caption"]

FOLDER = Path(__file__).parent
_FILES = {
    "text": "Literata-Text",
    "italic": "Literata-TextItalic",
    "semibold": "Literata-TextSemibold",
    "display": "Literata-Display",
    "caption": "Literata-Caption",
    "fallback": "Fallback",
}
BOX = "\u25a1"


@cache
def font(face: str) -> TTFont:
    """Return the face's font, registered with reportlab under ``Bench-<face>``."""
    made = TTFont(f"Bench-{face}", FOLDER / f"{_FILES[face]}.ttf")
    pdfmetrics.registerFont(made)
    return made


def _has(face: str, character: str) -> bool:
    return ord(character) in font(face).face.charToGlyph


class Typesetter:
    """Chooses fonts for text and remembers every character that no font has."""

    def __init__(self) -> None:
        self.missing: set[str] = set()

    def runs(self, text: str, face: Face = "text") -> list[tuple[str, str]]:
        """Return (font name, text) runs; line ends and controls become spaces, an unknown character a box."""
        runs: list[tuple[str, str]] = []
        for character in unicodedata.normalize("NFC", text):
            name, shown = self._set(character, face)
            if not shown:
                continue
            if runs and runs[-1][0] == name:
                runs[-1] = (name, runs[-1][1] + shown)
            else:
                runs.append((name, shown))
        return runs

    def _set(self, character: str, face: Face) -> tuple[str, str]:
        category = unicodedata.category(character)
        if category == "Cf":
            return font(face).fontName, ""
        if category in ("Cc", "Zl", "Zp") or (category == "Zs" and not _has(face, character)):
            character = " "
        if _has(face, character):
            return font(face).fontName, character
        if _has("fallback", character):
            return font("fallback").fontName, character
        self.missing.add(character)
        box = "text" if _has("text", BOX) else "fallback"
        return font(box).fontName, BOX

    def markup(self, text: str, face: Face = "text") -> str:
        """Return user text as paragraph markup: escaped, each run in its font, line ends kept."""
        lines = text.replace("\r\n", "\n").split("\n")
        return "<br/>".join(
            "".join(f'<font name="{name}">{escape(run)}</font>' for name, run in self.runs(line, face))
            for line in lines
        )

    def width(self, text: str, face: Face, size: float) -> float:
        """Return the width of one line in the unit of ``size`` (points in, points out)."""
        return sum(pdfmetrics.stringWidth(run, name, size) for name, run in self.runs(text, face))


def described(character: str) -> str:
    """Return such as ``U+1F600 GRINNING FACE``."""
    return f"U+{ord(character):04X} {unicodedata.name(character, '')}".strip()

"""The report's page and paragraph styles: one measure, one margin of notes, one accent."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from reportlab.lib.enums import TA_LEFT
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.styles import ParagraphStyle

from condition.records.legend import ACCENT, INK, MUTED
from condition.report.drawing import MM
from condition.report.fonts import font

Paper = Literal["a4", "letter"]

NOTES_MM = 34.0
"""Width of the left column that holds what a line is about."""


@dataclass(frozen=True, slots=True)
class Page:
    """Page and its text block, in points."""

    width: float
    height: float
    left: float = 24 * MM
    right: float = 20 * MM
    top: float = 25 * MM
    bottom: float = 23 * MM

    @property
    def measure(self) -> float:
        return self.width - self.left - self.right

    @property
    def depth(self) -> float:
        return self.height - self.top - self.bottom


PAGES: dict[str, Page] = {"a4": Page(*A4), "letter": Page(*LETTER)}


def _style(name: str, face: str, size: float, leading: float, **other: object) -> ParagraphStyle:
    values = {"textColor": INK, "alignment": TA_LEFT, "splitLongWords": 1, "allowWidows": 0, "allowOrphans": 0}
    return ParagraphStyle(name, fontName=font(face).fontName, fontSize=size, leading=leading, **(values | other))


TITLE = _style("title", "display", 29, 34)
CLAIM = _style("claim", "italic", 10.5, 15, textColor=MUTED)
OVERLINE = _style("overline", "caption", 8, 11, textColor=ACCENT)
HEADING = _style("heading", "display", 18, 23)
LEAD = _style("lead", "text", 10, 15)
BODY = _style("body", "text", 9.2, 13.6)
QUOTE = _style("quote", "italic", 10.4, 15.4)
ITALIC = _style("aside", "italic", 9.2, 13.6)
KIND = _style("kind", "semibold", 10.5, 14, spaceAfter=2)
MEASURE = _style("measure", "text", 10.5, 14.5, textColor=ACCENT)
MEASURE_LAST = _style("measure-last", "text", 10.5, 14.5, textColor=ACCENT, spaceAfter=3.5)
TOLD = _style("told", "text", 9.2, 13.4, spaceAfter=3.5)
NOTE = _style("note", "caption", 7.4, 10.4, textColor=MUTED)
FACT = _style("fact", "caption", 7.6, 11)
LABEL = _style("label", "caption", 7.4, 10.4, textColor=MUTED)

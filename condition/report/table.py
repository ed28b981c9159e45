"""A plain table of text: hairlines between rows, the head repeated on each page."""

from __future__ import annotations

from collections.abc import Sequence

from reportlab.platypus import Flowable, Paragraph, Table

from condition.records.legend import ACCENT, RULE
from condition.report.fonts import font
from condition.report.sections import Press
from condition.report.styles import BODY, LABEL

Cell = str | tuple[str, str]
"""A text, or (text, face)."""


def table(head: Sequence[str], rows: Sequence[Sequence[Cell]], shares: Sequence[float], press: Press) -> Flowable:
    """Return a table as wide as the page's measure; ``shares`` are the columns' parts of it."""
    whole = sum(shares)
    widths = [press.page.measure * share / whole for share in shares]
    data = [[Paragraph(press.type_.markup(word, "caption"), LABEL) for word in head]]
    data += [[_cell(cell, press) for cell in row] for row in rows]
    made = Table(data, widths, repeatRows=1)
    made.setStyle(
        [
            ("FONTNAME", (0, 0), (-1, -1), font("text").fontName),
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LEFTPADDING", (0, 0), (-1, -1), 0),
            ("RIGHTPADDING", (0, 0), (-1, -1), 6),
            ("TOPPADDING", (0, 0), (-1, -1), 3),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 3.5),
            ("LINEBELOW", (0, 0), (-1, 0), 0.7, ACCENT),
            ("LINEBELOW", (0, 1), (-1, -1), 0.3, RULE),
        ]
    )
    return made


def _cell(cell: Cell, press: Press) -> Paragraph:
    text, face = cell if isinstance(cell, tuple) else (cell, "text")
    return Paragraph(press.type_.markup(text, face), BODY)

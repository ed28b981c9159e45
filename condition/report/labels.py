"""Labels for bags and cases: words to read, and a QR code that holds the same words as plain text, no address."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import segno
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Paragraph

from condition.records.legend import INK, MUTED, RULE
from condition.report.drawing import MM, pdf_text
from condition.report.fonts import Typesetter, font
from condition.words import say, say_n

LABEL_MM = (92.0, 48.0)
MARGIN_MM = 4.0
CODE_MM = 36.0
"""Side of the QR code with its quiet zone; the largest code below keeps modules of about 0.5 mm."""

QUIET_MODULES = 4
"""Width of the white zone: ISO/IEC 18004, four modules."""

MOST_BYTES = 360
"""What the code holds at most: version 13 at level M holds 331 bytes, version 14 362 (ISO/IEC 18004, table 7)."""

COLUMNS = 2
TITLE_PT, LINE_PT, LEAST_PT = 17.0, 9.0, 6.5

LabelPaper = Literal["label", "a4", "letter"]
_SHEETS = {"a4": A4, "letter": LETTER}


@dataclass(frozen=True, slots=True)
class Label:
    """title : large; lines : below it; payload : the plain text the QR code holds, saying the same"""

    title: str
    lines: tuple[str, ...] = ()
    payload: str = ""


def labels_pdf(labels: Sequence[Label], paper: LabelPaper = "label") -> bytes:
    """Return labels as a PDF: one small page each, or several on a sheet with lines to cut along.

    The same labels always give the same bytes.
    """
    type_ = Typesetter()
    buffer = io.BytesIO()
    width, height = LABEL_MM
    size = _SHEETS.get(paper, (width * MM, height * MM))
    canvas = Canvas(buffer, pagesize=size, invariant=1, initialFontName=font("text").fontName)
    canvas.setTitle(say("labels.document"))
    canvas.setCreator("condition")
    if paper == "label":
        for label in labels:
            _draw(canvas, label, 0.0, 0.0, type_)
            canvas.showPage()
    else:
        rows = int((size[1] / MM - 20.0) // height)
        left, top = (size[0] / MM - COLUMNS * width) / 2, size[1] / MM - 10.0
        for first in range(0, len(labels), rows * COLUMNS):
            for place, label in enumerate(labels[first : first + rows * COLUMNS]):
                row, column = divmod(place, COLUMNS)
                x, y = left + column * width, top - (row + 1) * height
                _cut_lines(canvas, x, y)
                _draw(canvas, label, x, y, type_)
            canvas.showPage()
    canvas.save()
    return buffer.getvalue()


def code_for(payload: str) -> segno.QRCode:
    """Return the QR code of a plain text (error correction M); a text too long for a label is cut and says so."""
    return segno.make(_within(payload), error="m", encoding="utf-8", micro=False, boost_error=False)


def _within(payload: str) -> str:
    data = payload.encode()
    if len(data) <= MOST_BYTES:
        return payload
    return data[: MOST_BYTES - 3].decode(errors="ignore") + "…"


def _draw(canvas: Canvas, label: Label, x_mm: float, y_mm: float, type_: Typesetter) -> None:
    """Draw one label with its bottom left corner at a place in mm from the paper's."""
    width, height = LABEL_MM
    text_width = width - 2 * MARGIN_MM - (CODE_MM if label.payload else 0.0)
    canvas.saveState()
    canvas.translate(x_mm * MM, y_mm * MM)
    if label.payload:
        _code(canvas, code_for(label.payload), width - MARGIN_MM / 2 - CODE_MM, (height - CODE_MM) / 2)
    room = (height - 2 * MARGIN_MM) * MM
    size = LINE_PT
    while True:
        paragraphs = _paragraphs(label, size, type_)
        heights = [paragraph.wrap(text_width * MM, 1e6)[1] for paragraph in paragraphs]
        if sum(heights) <= room or size <= LEAST_PT:
            break
        size -= 0.5
    y = height * MM - MARGIN_MM * MM
    for k, (paragraph, tall) in enumerate(zip(paragraphs, heights, strict=True)):
        last = k + 1 == len(paragraphs)
        if y - tall < MARGIN_MM * MM + (0 if last else size * 1.25):
            _more(canvas, len(paragraphs) - k, y, type_)
            break
        y -= tall
        paragraph.drawOn(canvas, MARGIN_MM * MM, y)
    canvas.restoreState()


def _paragraphs(label: Label, size: float, type_: Typesetter) -> list[Paragraph]:
    title = ParagraphStyle(
        "label-title", fontName=font("display").fontName, fontSize=TITLE_PT, leading=TITLE_PT * 1.2, textColor=INK
    )
    line = ParagraphStyle(
        "label-line", fontName=font("text").fontName, fontSize=size, leading=size * 1.25, textColor=INK
    )
    return [
        Paragraph(type_.markup(label.title, "display"), title),
        *(Paragraph(type_.markup(text), line) for text in label.lines),
    ]


def _more(canvas: Canvas, count: int, y: float, type_: Typesetter) -> None:

    pdf_text(canvas, type_, MARGIN_MM * MM, y - LEAST_PT, say_n("labels.more", count), LEAST_PT, MUTED, "caption")


def _code(canvas: Canvas, code: segno.QRCode, x_mm: float, y_mm: float) -> None:
    """Draw the code as one path, each row's dark run one rectangle, so that no seams show in print."""
    rows = tuple(code.matrix)
    module = CODE_MM / (len(rows) + 2 * QUIET_MODULES)
    path = canvas.beginPath()
    for row, modules in enumerate(rows):
        y = y_mm + CODE_MM - (row + 1 + QUIET_MODULES) * module
        column = 0
        while column < len(modules):
            end = column
            while end < len(modules) and modules[end]:
                end += 1
            if end > column:
                path.rect(
                    (x_mm + (column + QUIET_MODULES) * module) * MM, y * MM, (end - column) * module * MM, module * MM
                )
            column = end + 1
    canvas.setFillColor("#000000")
    canvas.drawPath(path, stroke=0, fill=1)


def _cut_lines(canvas: Canvas, x_mm: float, y_mm: float) -> None:
    canvas.saveState()
    canvas.setStrokeColor(RULE)
    canvas.setLineWidth(0.3)
    canvas.setDash([2, 2])
    canvas.rect(x_mm * MM, y_mm * MM, LABEL_MM[0] * MM, LABEL_MM[1] * MM, stroke=1, fill=0)
    canvas.restoreState()

"""The sheet of size cards, at true size: vector squares, white margins, cut marks, a line to check by."""

from __future__ import annotations

import io
from dataclasses import dataclass

import numpy as np
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import FILL_EVEN_ODD, Canvas
from shapely import unary_union
from shapely.geometry import Polygon, box

from condition.imaging.card_code import MODULES, card_bits
from condition.records.legend import INK, MUTED
from condition.report.fonts import font
from condition.words import say

PAPERS_MM: dict[str, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
SIDE_MM, QUIET_MM = 40.0, 8.0
CARD_MM = SIDE_MM + 2 * QUIET_MM
COLUMNS, ROWS = 2, 3
GAP_MM = 10.0
CHECK_MM = 100.0
CUT_MM = 3.0


@dataclass(frozen=True, slots=True)
class Sheet:
    """Places in mm from the paper's bottom left corner. cards : (id, left, bottom) of each marker's black square"""

    width: float
    height: float
    cards: tuple[tuple[int, float, float], ...]
    check_line: tuple[float, float]


def sheet_for(paper: str, first_id: int = 0) -> Sheet:
    """Lay out the six cards ``first_id``... and the check line on ``a4`` or ``letter``."""
    width, height = PAPERS_MM[paper]
    across = COLUMNS * CARD_MM + (COLUMNS - 1) * GAP_MM
    left, top = (width - across) / 2, height - 40.0
    cards = []
    for place in range(COLUMNS * ROWS):
        row, column = divmod(place, COLUMNS)
        x = left + column * (CARD_MM + GAP_MM) + QUIET_MM
        y = top - (row + 1) * CARD_MM - row * GAP_MM + QUIET_MM
        cards.append((first_id + place, x, y))
    return Sheet(width, height, tuple(cards), ((width - CHECK_MM) / 2, 24.0))


def black_of(card_id: int) -> list[Polygon]:
    """The card's black as polygons with holes, in mm from its square's bottom left corner: no seams between cells."""
    cell = SIDE_MM / MODULES
    dark = np.pad(1 - card_bits(card_id), 1, constant_values=1)
    squares = [
        box(column * cell, SIDE_MM - (row + 1) * cell, (column + 1) * cell, SIDE_MM - row * cell)
        for row, column in np.argwhere(dark)
    ]
    merged = unary_union(squares)
    return list(merged.geoms) if hasattr(merged, "geoms") else [merged]


def _loops(card_id: int) -> list[np.ndarray]:
    shapes = [shape.simplify(1e-9) for shape in black_of(card_id)]
    return [np.array(loop.coords)[:-1] for shape in shapes for loop in (shape.exterior, *shape.interiors)]


def _cut_marks(left: float, bottom: float) -> list[tuple[float, float, float, float]]:
    """Short lines outside the four corners of a card, where the scissors go; none inside its white margin."""
    x0, y0 = left - QUIET_MM, bottom - QUIET_MM
    x1, y1 = x0 + CARD_MM, y0 + CARD_MM
    marks = []
    for x, away in ((x0, -CUT_MM), (x1, CUT_MM)):
        marks += [(x, y, x + away, y) for y in (y0, y1)]
    for y, away in ((y0, -CUT_MM), (y1, CUT_MM)):
        marks += [(x, y, x, y + away) for x in (x0, x1)]
    return marks


def card_sheet_pdf(paper: str = "a4", first_id: int = 0) -> bytes:
    """The sheet as a PDF of one page; the same bytes for the same sheet."""
    sheet = sheet_for(paper, first_id)
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=(sheet.width * mm, sheet.height * mm), invariant=1)
    canvas.setTitle(say("cards.title"))
    canvas.setViewerPreference("PrintScaling", "None")
    canvas.setFillColor(INK)
    canvas.setFont(font("semibold").fontName, 12)
    canvas.drawCentredString(sheet.width * mm / 2, (sheet.height - 17) * mm, say("cards.heading"))
    canvas.setFont(font("text").fontName, 8.5)
    for line, text in enumerate((say("cards.print_how"), say("cards.lay_how"))):
        canvas.drawCentredString(sheet.width * mm / 2, (sheet.height - 23 - 4.5 * line) * mm, text)
    for card_id, left, bottom in sheet.cards:
        _draw_card(canvas, card_id, left, bottom)
    _draw_check_line(canvas, *sheet.check_line)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def _draw_card(canvas: Canvas, card_id: int, left: float, bottom: float) -> None:
    path = canvas.beginPath()
    for loop in _loops(card_id):
        placed = (loop + np.array([left, bottom])) * mm
        path.moveTo(*placed[0])
        for point in placed[1:]:
            path.lineTo(*point)
        path.close()
    canvas.setFillGray(0)
    canvas.drawPath(path, stroke=0, fill=1, fillMode=FILL_EVEN_ODD)
    canvas.setStrokeColor(MUTED)
    canvas.setLineWidth(0.3)
    for mark in _cut_marks(left, bottom):
        canvas.line(*(value * mm for value in mark))
    canvas.setFillColor(MUTED)
    canvas.setFont(font("caption").fontName, 6)
    canvas.drawString((left - QUIET_MM + 1) * mm, (bottom - QUIET_MM + 1) * mm, str(card_id))


def _draw_check_line(canvas: Canvas, left: float, bottom: float) -> None:
    canvas.setStrokeGray(0)
    canvas.setLineWidth(0.4)
    canvas.line(left * mm, bottom * mm, (left + CHECK_MM) * mm, bottom * mm)
    for tick in range(11):
        size = 3.0 if tick in (0, 5, 10) else 1.8
        x = (left + 10 * tick) * mm
        canvas.line(x, bottom * mm, x, (bottom + size) * mm)
    canvas.setFillColor(INK)
    canvas.setFont(font("text").fontName, 8.5)
    canvas.drawCentredString((left + CHECK_MM / 2) * mm, (bottom - 5) * mm, say("cards.check_line"))


def card_sheet_svg(paper: str = "a4", first_id: int = 0) -> str:
    """The sheet as an SVG picture for the screen (the PDF is what is printed)."""
    sheet = sheet_for(paper, first_id)
    pieces = []
    for card_id, left, bottom in sheet.cards:
        steps = []
        for loop in _loops(card_id):
            points = " L".join(f"{left + x:.4f},{sheet.height - bottom - y:.4f}" for x, y in loop)
            steps.append(f"M{points}Z")
        pieces.append(f'<path d="{"".join(steps)}" fill-rule="evenodd"/>')
        lines = "".join(
            f"M{a:.2f},{sheet.height - b:.2f} L{c:.2f},{sheet.height - d:.2f}"
            for a, b, c, d in _cut_marks(left, bottom)
        )
        pieces.append(f'<path d="{lines}" stroke="{MUTED}" stroke-width=".15"/>')
    x, y = sheet.check_line
    pieces.append(f'<path d="M{x},{sheet.height - y} h{CHECK_MM}" stroke="#000" stroke-width=".2"/>')
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {sheet.width} {sheet.height}" '
        f'role="img" aria-label="{say("cards.heading")}"><rect width="100%" height="100%" fill="#fff"/>'
        f"{''.join(pieces)}</svg>"
    )

"""A paper of the shop's own beside the report: set in the same type, pages counted, nothing in it but what it shows."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import dataclass

import pikepdf
from reportlab import rl_config
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, PageTemplate, Paragraph, Spacer

from condition.records.legend import ACCENT, INK, MUTED, RULE
from condition.report.drawing import MM, pdf_text
from condition.report.flowables import Heading, Painted, note
from condition.report.fonts import Typesetter, font
from condition.report.map_legend import shortened
from condition.report.pictures import Pictures, Pixels
from condition.report.sections import Press
from condition.report.styles import BODY, OVERLINE, PAGES, TITLE, Paper
from condition.words import say

rl_config.useA85 = 0

LONG = 400
"""Characters from which a fact is no longer set in a column."""


@dataclass(frozen=True, slots=True)
class Letter:
    """title : of the document; head : on every page after the first; foot : reference at the foot of every page;
    dated : local day, from which the PDF takes its dates, so that the same paper gives the same bytes"""

    title: str
    head: str
    foot: str
    author: str
    dated: str


def letter_pdf(
    letter: Letter, story: Callable[[Press], list[Flowable]], photo_pixels: Pixels, paper: Paper = "a4"
) -> bytes:
    """Set a paper and return the PDF. The same paper always gives the same bytes."""
    pictures = Pictures(photo_pixels)
    total = 0
    while True:
        data, pages = _laid_out(letter, story, pictures, paper, total)
        if pages == total:
            return _described(data, letter)
        total = pages


def _laid_out(
    letter: Letter, story: Callable[[Press], list[Flowable]], pictures: Pictures, paper: Paper, total: int
) -> tuple[bytes, int]:
    page = PAGES[paper]
    press = Press(page, Typesetter(), pictures)
    buffer = io.BytesIO()
    document = BaseDocTemplate(
        buffer,
        pagesize=(page.width, page.height),
        title=letter.title,
        author=letter.author,
        lang="en",
        invariant=1,
        initialFontName=font("text").fontName,
        pageCompression=1,
    )
    frame = Frame(page.left, page.bottom, page.measure, page.depth, 0, 0, 0, 0)

    def furnish(canvas: Canvas, template: BaseDocTemplate) -> None:
        _furniture(canvas, letter, press, template.page, total)

    document.addPageTemplates(PageTemplate(frames=[frame], onPage=furnish))
    document.build(story(press))
    return buffer.getvalue(), document.page


def _furniture(canvas: Canvas, letter: Letter, press: Press, number: int, total: int) -> None:
    page, type_, size = press.page, press.type_, 7.4
    foot, right = page.bottom - 10 * MM, page.width - page.right
    count = say("report.page", number=number, total=total)
    pdf_text(canvas, type_, right - type_.width(count, "caption", size), foot, count, size, MUTED, "caption")
    left = shortened(letter.foot, 0.8 * page.measure / MM, size / MM, "caption", type_)
    pdf_text(canvas, type_, page.left, foot, left, size, MUTED, "caption")
    if number > 1:
        head = page.height - 14 * MM
        name = shortened(letter.head, page.measure / MM, size / MM, "caption", type_)
        pdf_text(canvas, type_, page.left, head, name, size, MUTED, "caption")
        canvas.setStrokeColor(RULE)
        canvas.setLineWidth(0.4)
        canvas.setDash([])
        canvas.line(page.left, head - 2 * MM, right, head - 2 * MM)


def _described(data: bytes, letter: Letter) -> bytes:
    with pikepdf.open(io.BytesIO(data)) as pdf:
        stamp = f"{letter.dated}T00:00:00Z"
        pdf.Root.Lang = pikepdf.String("en")
        pdf.Root.ViewerPreferences = pikepdf.Dictionary(DisplayDocTitle=True)
        pdf.docinfo["/CreationDate"] = pdf.docinfo["/ModDate"] = f"D:{letter.dated.replace('-', '')}000000Z"
        pdf.docinfo["/Producer"] = pdf.docinfo["/Creator"] = "condition"
        with pdf.open_metadata(set_pikepdf_as_editor=False, update_docinfo=False) as meta:
            meta["dc:title"] = letter.title
            if letter.author:
                meta["dc:creator"] = [letter.author]
            meta["dc:language"] = ["en"]
            meta["xmp:CreateDate"] = meta["xmp:ModifyDate"] = stamp
            meta["xmp:CreatorTool"] = meta["pdf:Producer"] = "condition"
        buffer = io.BytesIO()
        pdf.save(buffer, deterministic_id=True, linearize=False)
        return buffer.getvalue()


def opening(overline: str, title: str, press: Press) -> list[Flowable]:
    """Return what a paper begins with: what it is, and what it is about."""
    mark = press.type_.markup
    return [
        Paragraph(mark(overline, "caption"), OVERLINE),
        Spacer(0, 2 * MM),
        Paragraph(mark(title, "display"), TITLE),
        Spacer(0, 6 * MM),
    ]


def heading(text: str, key: str, press: Press) -> Heading:
    return Heading(text, press.type_, key)


def facts(pairs: list[tuple[str, str]], press: Press, columns: int = 3) -> list[Flowable]:
    """Return label and value pairs in columns, read along the rows; empty ones are left out, long ones stand below."""
    gap = 6 * MM
    wide = (press.page.measure - (columns - 1) * gap) / columns
    long = [(label, value) for label, value in pairs if len(value) > LONG or value.count("\n") > LONG / 40]
    filled = [pair for pair in pairs if pair[1].strip() and pair not in long]
    story: list[Flowable] = []
    for row in range(0, len(filled), columns):
        cells = [
            (note(label, press.type_), Paragraph(press.type_.markup(value), BODY))
            for label, value in filled[row : row + columns]
        ]
        story += [_fact_row(cells, wide, gap, press), Spacer(0, 3 * MM)]
    return [*story, *(item for label, value in long for item in press.noted(label, value))]


def _fact_row(cells: list[tuple[Paragraph, Paragraph]], wide: float, gap: float, press: Press) -> Flowable:
    heights = [sum(item.wrap(wide, 1e6)[1] for item in cell) for cell in cells]

    def paint(canvas: Canvas) -> None:
        for k, cell in enumerate(cells):
            y = 0.0
            for item in cell:
                y -= item.wrap(wide, 1e6)[1]
                item.drawOn(canvas, k * (wide + gap), y)

    return Painted(press.page.measure, max(heights), paint)


def tick_box(canvas: Canvas, x: float, y: float, size: float = 3.2 * MM) -> None:
    """Draw an empty box whose lower left corner is at points (x, y)."""
    canvas.setStrokeColor(INK)
    canvas.setLineWidth(0.5)
    canvas.setDash([])
    canvas.rect(x, y, size, size, stroke=1, fill=0)


def signature_lines(names: list[tuple[str, str]], press: Press) -> Flowable:
    """Return room to sign, side by side: label and name under a line, and one for place and date."""
    gap = 10 * MM
    each = (press.page.measure - gap * (len(names) - 1)) / len(names)
    texts = [(note(label, press.type_), Paragraph(press.type_.markup(name or "\u00a0"), BODY)) for label, name in names]
    place = note(say("report.signed_where"), press.type_)

    def paint(canvas: Canvas) -> None:
        for k, (label, name) in enumerate(texts):
            x = k * (each + gap)
            canvas.setLineWidth(0.4)
            canvas.setStrokeColor(INK)
            canvas.line(x, -16 * MM, x + each, -16 * MM)
            canvas.line(x, -36 * MM, x + each, -36 * MM)
            for item, y in ((label, -17), (name, -21), (place, -37)):
                item.wrap(each, 40 * MM)
                item.drawOn(canvas, x, y * MM - item.height)

    return Painted(press.page.measure, 42 * MM, paint)


class Row(Flowable):
    """Paragraphs side by side in columns, the tops level; the widest text may flow on to the next page.

    cells : (paragraph or None, left mm, width mm); ``main`` is the index of the text that may be split
    ruled : a hairline above
    """

    def __init__(
        self,
        cells: list[tuple[Paragraph | None, float, float]],
        main: int,
        *,
        ruled: bool = False,
        before_mm: float = 0.0,
        strong: bool = False,
    ) -> None:
        super().__init__()
        self.cells, self.main, self.ruled, self.strong = cells, main, ruled, strong
        self.spaceBefore = before_mm * MM

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        tall = [cell.wrap(wide * MM, 1e6)[1] for cell, _, wide in self.cells if cell]
        self.width, self.height = width, max(tall, default=0.0) + (1.6 * MM if self.ruled else 0.6 * MM)
        return width, self.height

    def split(self, width: float, height: float) -> list[Flowable]:
        text, left, wide = self.cells[self.main]
        parts = text.split(wide * MM, height - 1.6 * MM) if text else []
        if len(parts) != 2:
            return []
        first = [*self.cells]
        first[self.main] = (parts[0], left, wide)
        return [Row(first, self.main, ruled=self.ruled), Row([(parts[1], left, wide)], 0)]

    def draw(self) -> None:
        top = self.height - (1.6 * MM if self.ruled else 0.6 * MM)
        if self.ruled:
            self.canv.setStrokeColor(ACCENT if self.strong else RULE)
            self.canv.setLineWidth(0.8 if self.strong else 0.4)
            self.canv.setDash([])
            self.canv.line(0, self.height, self.width, self.height)
        for cell, left, wide in self.cells:
            if cell:
                _, tall = cell.wrap(wide * MM, 1e6)
                cell.drawOn(self.canv, left * MM, top - tall)

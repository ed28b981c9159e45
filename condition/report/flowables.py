"""What the report is set from: paragraphs with a note beside them, headings, findings, map sheets, photos."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, Paragraph

from condition.records.legend import ACCENT, RULE
from condition.report.drawing import MM, Primitive, draw_on
from condition.report.fonts import Typesetter
from condition.report.styles import HEADING, LABEL, NOTES_MM, OVERLINE


class Noted(Paragraph):
    """A paragraph beside the notes column; its note stands at its first line and stays with it when it splits."""

    note: Paragraph | None = None

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        width, height = super().wrap(width, height)
        if self.note is not None:
            _, tall = self.note.wrap((NOTES_MM - 3) * MM, height)
            height = max(height, tall)
            self.height = height
        return width, height

    def draw(self) -> None:
        if self.note is not None:
            shift = self.style.fontSize - self.note.style.fontSize
            self.note.drawOn(self.canv, 0, self.height - self.note.height - 0.9 * shift)
        text_height = len(self.blPara.lines) * self.style.leading
        if self.height > text_height:
            self.canv.translate(0, self.height - text_height)
            kept, self.height = self.height, text_height
            super().draw()
            self.height = kept
        else:
            super().draw()

    def split(self, width: float, height: float) -> list[Flowable]:
        parts = super().split(width, height)
        for k, part in enumerate(parts):
            part.note = self.note if k == 0 else None
        return parts


def noted(text: str, style: ParagraphStyle, note: Paragraph | None = None) -> Noted:
    """Return a paragraph of markup beside the notes column, with its note."""
    paragraph = Noted(text, ParagraphStyle(f"{style.name}-noted", parent=style, leftIndent=NOTES_MM * MM))
    paragraph.note = note
    return paragraph


class Heading(Flowable):
    """A section's title with its short accent rule; it enters the outline and never stands alone at a page's foot."""

    def __init__(self, title: str, type_: Typesetter, key: str, overline: str = "", level: int = 0) -> None:
        super().__init__()
        self.keepWithNext = True
        self.title, self.key, self.level = title, key, level
        self.over = Paragraph(type_.markup(overline, "caption"), OVERLINE) if overline else None
        self.text = Paragraph(type_.markup(title, "display"), HEADING)

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        self.over_height = self.over.wrap(width, height)[1] if self.over else 0.0
        self.text_height = self.text.wrap(width, height)[1]
        return width, self.over_height + self.text_height + 8.5 * MM

    def draw(self) -> None:
        top = self.over_height + self.text_height + 8.5 * MM
        if self.over:
            self.over.drawOn(self.canv, 0, top - self.over_height)
        self.text.drawOn(self.canv, 0, top - self.over_height - self.text_height)
        self.canv.setStrokeColor(ACCENT)
        self.canv.setLineWidth(0.9)
        self.canv.setDash([])
        self.canv.line(0, 5.2 * MM, 14 * MM, 5.2 * MM)
        self.canv.bookmarkPage(self.key)
        self.canv.addOutlineEntry(self.title, self.key, self.level, closed=False)


class Drawn(Flowable):
    """Primitives in a box of fixed size."""

    def __init__(self, primitives: Sequence[Primitive], width_mm: float, height_mm: float, type_: Typesetter) -> None:
        super().__init__()
        self.primitives, self.type_ = tuple(primitives), type_
        self.size = (width_mm * MM, height_mm * MM)

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        return self.size

    def draw(self) -> None:
        self.canv.saveState()
        self.canv.translate(0, self.size[1])
        draw_on(self.canv, self.primitives, self.type_)
        self.canv.restoreState()


class Painted(Flowable):
    """A box drawn by a function of the canvas, origin at its top left corner in points, y up."""

    def __init__(self, width: float, height: float, paint: Callable[..., None]) -> None:
        super().__init__()
        self.size, self.paint = (width, height), paint

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        return self.size

    def draw(self) -> None:
        self.canv.saveState()
        self.canv.translate(0, self.size[1])
        self.paint(self.canv)
        self.canv.restoreState()


class Beside(Flowable):
    """Paragraphs with something at their left and pictures at their right; the paragraphs may flow on.

    Parameters
    ----------
    head : drawn at the top left, at most ``left_mm`` wide, of height ``head_mm``
    ruled : a hairline stands above, unless it begins a page
    pictures : flowables of fixed size, one under the other at the right
    """

    def __init__(
        self,
        paragraphs: Sequence[Paragraph],
        pictures: Sequence[Flowable],
        head: Callable[..., None] | None,
        *,
        left_mm: float,
        right_mm: float,
        head_mm: float = 0.0,
        gap_mm: float = 6.0,
        ruled: bool = False,
    ) -> None:
        super().__init__()
        self.paragraphs, self.pictures, self.head = list(paragraphs), list(pictures), head
        self.left_mm, self.right_mm, self.head_mm, self.gap_mm = left_mm, right_mm, head_mm, gap_mm
        self.ruled = ruled
        self.spaceBefore = 7.0 * MM if ruled else 0.0

    def drawOn(self, canvas: Canvas, x: float, y: float, _sW: float = 0) -> None:
        if self.ruled and y + self.height < self._frame._y2 - 1:
            canvas.setStrokeColor(RULE)
            canvas.setLineWidth(0.4)
            canvas.setDash([])
            over = y + self.height + self.spaceBefore / 2
            canvas.line(x, over, x + self.width, over)
        super().drawOn(canvas, x, y, _sW)

    def _text_width(self, width: float) -> float:
        right = (self.right_mm + self.gap_mm) * MM if self.pictures else 0.0
        return width - self.left_mm * MM - right

    def _heights(self, width: float) -> tuple[list[float], float]:
        text = [p.wrap(self._text_width(width), 1e6)[1] + p.getSpaceAfter() for p in self.paragraphs]
        pictures = sum(picture.wrap(self.right_mm * MM, 1e6)[1] for picture in self.pictures)
        return text, pictures

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        text, pictures = self._heights(width)
        self.width, self.height = width, max(sum(text), pictures, self.head_mm * MM)
        return width, self.height

    def split(self, width: float, height: float) -> list[Flowable]:
        _, pictures = self._heights(width)
        if pictures > height or self.head_mm * MM > height or not self.paragraphs:
            return []
        room, kept = height, []
        rest = list(self.paragraphs)
        while rest and (tall := rest[0].wrap(self._text_width(width), 1e6)[1] + rest[0].getSpaceAfter()) <= room:
            kept.append(rest.pop(0))
            room -= tall
        if rest:
            parts = rest[0].split(self._text_width(width), room)
            if len(parts) == 2:
                kept.append(parts[0])
                rest[0] = parts[1]
        least = min(2, len(self.paragraphs)) if self.head else 1
        if len(kept) < least or not rest:
            return []
        sizes = {"left_mm": self.left_mm, "right_mm": self.right_mm, "gap_mm": self.gap_mm}
        first = Beside(kept, self.pictures, self.head, head_mm=self.head_mm, ruled=self.ruled, **sizes)
        return [first, Beside(rest, [], None, **{**sizes, "right_mm": 0.0})]

    def draw(self) -> None:
        y = self.height
        for paragraph in self.paragraphs:
            _, tall = paragraph.wrap(self._text_width(self.width), 1e6)
            y -= tall
            paragraph.drawOn(self.canv, self.left_mm * MM, y)
            y -= paragraph.getSpaceAfter()
        y = self.height
        for picture in self.pictures:
            y -= picture.wrap(self.right_mm * MM, 1e6)[1]
            picture.drawOn(self.canv, self.width - self.right_mm * MM, y)
        if self.head:
            self.canv.saveState()
            self.canv.translate(0, self.height)
            self.head(self.canv)
            self.canv.restoreState()


def note(text: str, type_: Typesetter) -> Paragraph:
    return Paragraph(type_.markup(text, "caption"), LABEL)

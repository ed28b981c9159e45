"""A small drawing seam: pictures as plain primitives, set on a PDF page or written as SVG text.

Coordinates are millimetres on paper, x right, y down, from the picture's top left corner.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal
from xml.sax.saxutils import escape, quoteattr

from condition.records.shapes import Pair

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

    from condition.report.fonts import Typesetter

MM = 72 / 25.4
"""Points in a millimetre."""


@dataclass(frozen=True, slots=True)
class Stroke:
    """Line colour (``#rrggbb``), width in mm, dash lengths on/off in mm."""

    colour: str
    width: float = 0.2
    dash: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Path:
    """One or more polylines drawn as one path; closed ones are filled by the even-odd rule."""

    lines: tuple[tuple[Pair, ...], ...]
    closed: bool = False
    stroke: Stroke | None = None
    fill: str | None = None


@dataclass(frozen=True, slots=True)
class Disc:
    x: float
    y: float
    radius: float
    stroke: Stroke | None = None
    fill: str | None = None


@dataclass(frozen=True, slots=True)
class Text:
    """One line of text; (x, y) is the start, middle or end of its baseline; size in mm."""

    x: float
    y: float
    text: str
    size: float
    colour: str
    face: Literal["text", "italic", "semibold", "caption"] = "caption"
    anchor: Literal["start", "middle", "end"] = "start"


Primitive = Path | Disc | Text


def draw_on(canvas: Canvas, primitives: Iterable[Primitive], type_: Typesetter) -> None:
    """Draw on a PDF canvas whose origin is the picture's top left corner in points, y up."""
    for item in primitives:
        match item:
            case Path():
                _pdf_path(canvas, item)
            case Disc(x, y, radius, stroke, fill):
                _pdf_ink(canvas, stroke, fill)
                canvas.circle(x * MM, -y * MM, radius * MM, stroke=int(stroke is not None), fill=int(fill is not None))
            case Text(x, y, text, size, colour, face, anchor):
                shift = {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor]
                left = x * MM - shift * type_.width(text, face, size * MM)
                pdf_text(canvas, type_, left, -y * MM, text, size * MM, colour, face)


def pdf_text(
    canvas: Canvas, type_: Typesetter, x: float, y: float, text: str, size: float, colour: str, face: str
) -> float:
    """Set one line at points (x, y) and return the x where it ends."""
    canvas.setFillColor(colour)
    pen = canvas.beginText(x, y)
    for name, run in type_.runs(text, face):
        pen.setFont(name, size)
        pen.textOut(run)
    canvas.drawText(pen)
    return x + type_.width(text, face, size)


def _pdf_ink(canvas: Canvas, stroke: Stroke | None, fill: str | None) -> None:
    if stroke:
        canvas.setStrokeColor(stroke.colour)
        canvas.setLineWidth(stroke.width * MM)
        canvas.setDash([length * MM for length in stroke.dash])
    if fill:
        canvas.setFillColor(fill)


def _pdf_path(canvas: Canvas, item: Path) -> None:
    _pdf_ink(canvas, item.stroke, item.fill)
    canvas.setLineJoin(1)
    canvas.setLineCap(0 if item.stroke and item.stroke.dash else 1)
    path = canvas.beginPath()
    for line in item.lines:
        path.moveTo(line[0][0] * MM, -line[0][1] * MM)
        for x, y in line[1:]:
            path.lineTo(x * MM, -y * MM)
        if item.closed:
            path.close()
    canvas.drawPath(path, stroke=int(item.stroke is not None), fill=int(item.fill is not None), fillMode=0)


def svg_of(primitives: Iterable[Primitive], width_mm: float, height_mm: float, width_px: float, title: str = "") -> str:
    """Return the picture as SVG text, its user text escaped."""
    height_px = width_px * height_mm / width_mm
    body = "".join(_svg(item) for item in primitives)
    name = f"<title>{escape(title)}</title>" if title else ""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width_mm:g} {height_mm:g}" '
        f'width="{width_px:g}" height="{height_px:g}" role="img">{name}{body}</svg>'
    )


_SVG_FONT = {"text": "400", "italic": "400", "semibold": "600", "caption": "450"}


def _svg(item: Primitive) -> str:
    match item:
        case Path(lines, closed, stroke, fill):
            end = "Z" if closed else ""
            data = " ".join("M" + " ".join(f"{x:.2f},{y:.2f}" for x, y in line) + end for line in lines)
            return f'<path d="{data}" fill-rule="evenodd"{_svg_ink(stroke, fill)}/>'
        case Disc(x, y, radius, stroke, fill):
            return f'<circle cx="{x:.2f}" cy="{y:.2f}" r="{radius:.2f}"{_svg_ink(stroke, fill)}/>'
        case Text(x, y, text, size, colour, face, anchor):
            style = ' font-style="italic"' if face == "italic" else ""
            return (
                f'<text x="{x:.2f}" y="{y:.2f}" font-size="{size:.2f}" font-family="Literata, Georgia, serif" '
                f'font-weight="{_SVG_FONT[face]}"{style} fill={quoteattr(colour)} text-anchor="{anchor}">'
                f"{escape(text)}</text>"
            )


def _svg_ink(stroke: Stroke | None, fill: str | None) -> str:
    ink = f" fill={quoteattr(fill or 'none')}"
    if stroke:
        ink += f' stroke={quoteattr(stroke.colour)} stroke-width="{stroke.width:g}" stroke-linejoin="round"'
        if stroke.dash:
            ink += f' stroke-dasharray="{" ".join(f"{length:g}" for length in stroke.dash)}"'
        else:
            ink += ' stroke-linecap="round"'
    return ink

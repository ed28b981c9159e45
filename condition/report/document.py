"""The condition report as a PDF: laid out, counted, laid out again with its page numbers, and sealed."""

from __future__ import annotations

import io
from collections.abc import Sequence
from pathlib import Path

from reportlab import rl_config
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, PageTemplate

from condition.records.legend import MUTED, RULE
from condition.records.sheet import ConditionSheet
from condition.report.before_after import before_after
from condition.report.cautions_section import cautions
from condition.report.client_summary import client_summary
from condition.report.codes_section import codes
from condition.report.drawing import MM, pdf_text
from condition.report.faults_section import faults
from condition.report.finding_list import findings
from condition.report.fonts import Typesetter, font
from condition.report.function_test_section import function_test
from condition.report.map_legend import shortened
from condition.report.map_pages import maps
from condition.report.method import method
from condition.report.parts_section import parts
from condition.report.pictures import Pictures, Pixels
from condition.report.plan_section import plan
from condition.report.readings_section import readings
from condition.report.seal import sealed
from condition.report.sections import (
    Press,
    Section,
    day,
    hashes,
    limits,
    missing_characters,
    photos,
    signatures,
    title,
)
from condition.report.strip_down_section import strip_down
from condition.report.styles import PAGES, Paper
from condition.words import say

rl_config.useA85 = 0
"""Streams stay binary: a fifth smaller."""

SECTIONS: dict[str, Section] = {
    "title": title,
    "client_summary": client_summary,
    "before_after": before_after,
    "maps": maps,
    "findings": findings,
    "readings": readings,
    "function_test": function_test,
    "faults": faults,
    "codes": codes,
    "plan": plan,
    "parts": parts,
    "strip_down": strip_down,
    "cautions": cautions,
    "photos": photos,
    "method": method,
    "limits": limits,
    "hashes": hashes,
    "signatures": signatures,
}
"""The report's sections by name, in the order they are set."""


def compile_pdf(
    sheet: ConditionSheet,
    *,
    photo_pixels: Pixels,
    out: Path,
    sections: Sequence[str] = tuple(SECTIONS),
    paper: Paper = "a4",
) -> None:
    """Write the condition report. The same sheet always gives the same bytes.

    Parameters
    ----------
    photo_pixels : gives a photo's upright pixels, uint8 sRGB, shape (height, width, 3)
    sections : names of :data:`SECTIONS` to set, in that order
    """
    pictures = Pictures(photo_pixels)
    total, missing = 0, set()
    while True:
        data, pages, found = _laid_out(sheet, pictures, sections, paper, total, missing)
        if pages == total and found == missing:
            break
        total, missing = pages, found
    out.write_bytes(sealed(data, sheet, sections))


def _laid_out(
    sheet: ConditionSheet, pictures: Pictures, sections: Sequence[str], paper: Paper, total: int, missing: set[str]
) -> tuple[bytes, int, set[str]]:
    page = PAGES[paper]
    press = Press(page, Typesetter(), pictures)
    press.type_.missing |= missing
    story: list[Flowable] = []
    for name in sections:
        story += SECTIONS[name](sheet, press)
        if name == "limits":
            story += missing_characters(press)
    buffer = io.BytesIO()
    document = BaseDocTemplate(
        buffer,
        pagesize=(page.width, page.height),
        title=say("report.document_title", title=sheet.instrument.title, job=sheet.job.name),
        author=sheet.job.examiner,
        subject=say("report.overline"),
        lang="en",
        invariant=1,
        initialFontName=font("text").fontName,
        pageCompression=1,
    )
    frame = Frame(page.left, page.bottom, page.measure, page.depth, 0, 0, 0, 0)

    def furnish(canvas: Canvas, template: BaseDocTemplate) -> None:
        _furniture(canvas, sheet, press, template.page, total)

    document.addPageTemplates(PageTemplate(frames=[frame], onPage=furnish))
    document.build(story)
    return buffer.getvalue(), document.page, set(press.type_.missing)


def _furniture(canvas: Canvas, sheet: ConditionSheet, press: Press, number: int, total: int) -> None:
    page, type_ = press.page, press.type_
    size = 7.4
    foot = page.bottom - 10 * MM
    count = say("report.page", number=number, total=total)
    right = page.width - page.right
    pdf_text(canvas, type_, right - type_.width(count, "caption", size), foot, count, size, MUTED, "caption")
    pdf_text(canvas, type_, page.left, foot, f"{sheet.job.name} · {day(sheet.compiled_at)}", size, MUTED, "caption")
    if number > 1:
        head = page.height - 14 * MM
        name = shortened(sheet.instrument.title, page.measure / MM, size / MM, "caption", type_)
        pdf_text(canvas, type_, page.left, head, name, size, MUTED, "caption")
        canvas.setStrokeColor(RULE)
        canvas.setLineWidth(0.4)
        canvas.setDash([])
        canvas.line(page.left, head - 2 * MM, right, head - 2 * MM)

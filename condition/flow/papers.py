"""The papers of a job: compiled in one go, written whole or not at all."""

from __future__ import annotations

import io
import threading
from pathlib import Path

from condition.flow.desk import Desk
from condition.flow.pixels import pixels_of
from condition.flow.sheets import whole_sheet
from condition.flow.whole_files import written_whole
from condition.records.job import Job

_pdfium = threading.Lock()
"""PDFium is not made for several threads at once."""


def condition_report(desk: Desk, job: Job, out: Path) -> Path:
    """Write the job's condition report as a PDF, all of it."""
    from condition.report.document import compile_pdf

    sheet = whole_sheet(desk, job)
    return written_whole(out, lambda part: compile_pdf(sheet, photo_pixels=lambda one: pixels_of(desk, one), out=part))


def page_count(pdf: Path) -> int:
    import pypdfium2

    with pypdfium2.PdfDocument(pdf) as document:
        return len(document)


def page_picture(pdf: Path, number: int, width_px: int = 1100) -> bytes | None:
    """Return one page of a PDF (the first is 0) as a PNG, for looking over; None when there is no such page."""
    import pypdfium2

    with _pdfium, pypdfium2.PdfDocument(pdf) as document:
        if number >= len(document):
            return None
        page = document[number]
        buffer = io.BytesIO()
        page.render(scale=width_px / page.get_width()).to_pil().save(buffer, "PNG")
        return buffer.getvalue()

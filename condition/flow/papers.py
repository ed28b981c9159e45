"""The papers of a job: compiled in one go, written whole or not at all."""

from __future__ import annotations

import io
import os
import tempfile
import threading
from pathlib import Path

from condition.flow.desk import Desk
from condition.flow.pixels import pixels_of
from condition.flow.sheets import condition_sheet
from condition.records.job import Job

_pdfium = threading.Lock()
"""PDFium is not made for several threads at once."""


def condition_report(desk: Desk, job: Job, out: Path) -> Path:
    """Write the job's condition report as a PDF."""
    from condition.report.document import compile_pdf

    out = Path(out)
    out.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=out.parent, suffix=".part")
    os.close(handle)
    part = Path(name)
    try:
        compile_pdf(condition_sheet(desk, job), photo_pixels=lambda photo: pixels_of(desk, photo), out=part)
        part.chmod(0o644)
        part.replace(out)
    finally:
        part.unlink(missing_ok=True)
    return out


def report_path(desk: Desk, job: Job) -> Path:
    """Return where the pages keep the job's latest report."""
    return desk.store.folder / "papers" / f"{job.id}.pdf"


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

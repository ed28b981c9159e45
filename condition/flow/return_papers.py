"""The papers of a return check, each a PDF of its own."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from condition.errors import Refused
from condition.flow.bench_sheet import bench_sheet
from condition.flow.desk import Desk
from condition.flow.pixels import pixels_of
from condition.flow.return_sheets import return_entry
from condition.flow.sheets import whole_sheet
from condition.flow.whole_files import written_whole
from condition.records.job import Job
from condition.records.return_check import ReturnCheck
from condition.records.sheet import ConditionSheet


def before_after_report(desk: Desk, job: Job, check: ReturnCheck, out: Path) -> Path:
    """Write the before and after report.

    Raises
    ------
    Refused
        ``return.nothing_compared``
    """
    from condition.report.before_after_paper import before_after_pdf

    sheet = _sheet(desk, job, check)
    return written_whole(
        out, lambda part: part.write_bytes(before_after_pdf(sheet, photo_pixels=lambda one: pixels_of(desk, one)))
    )


def client_summary(desk: Desk, job: Job, check: ReturnCheck, out: Path) -> Path:
    """Write the page for the client.

    Raises
    ------
    Refused
        ``return.nothing_compared``
    """
    from condition.report.before_after_paper import client_summary_pdf

    sheet = _sheet(desk, job, check)
    return written_whole(
        out, lambda part: part.write_bytes(client_summary_pdf(sheet, photo_pixels=lambda one: pixels_of(desk, one)))
    )


def paper_path(desk: Desk, check: ReturnCheck, name: str) -> Path:
    """Return where the pages keep the latest paper of a check."""
    return desk.store.folder / "papers" / f"{check.id}-{name}.pdf"


def _sheet(desk: Desk, job: Job, check: ReturnCheck) -> ConditionSheet:
    entry = return_entry(desk, desk.store.get(ReturnCheck, check.id))
    if not any(pair.state == "compared" for pair in entry.pairs):
        raise Refused("return.nothing_compared")
    return replace(whole_sheet(desk, job), returns=(entry,), bench=bench_sheet(desk, job, check.later))

"""The before and after report, and the client's one page, as papers of their own."""

from __future__ import annotations

from reportlab.platypus import CondPageBreak, Flowable

from condition.records.sheet import ConditionSheet
from condition.report.before_after import occasions, told_of
from condition.report.before_after_rest import the_rest
from condition.report.client_summary import client_summary
from condition.report.drawing import MM
from condition.report.letter import Letter, facts, heading, letter_pdf, opening, signature_lines
from condition.report.photo_grid import photo_grid
from condition.report.pictures import Pixels
from condition.report.sections import Press, day, hashes
from condition.report.styles import Paper
from condition.words import say


def before_after_pdf(sheet: ConditionSheet, *, photo_pixels: Pixels, paper: Paper = "a4") -> bytes:
    """Return the report of the sheet's first return check as a PDF; the same sheet gives the same bytes."""
    return letter_pdf(_letter(sheet, "return_paper.title"), lambda press: _report(sheet, press), photo_pixels, paper)


def client_summary_pdf(sheet: ConditionSheet, *, photo_pixels: Pixels, paper: Paper = "a4") -> bytes:
    """Return the client's page as a PDF; the same sheet gives the same bytes."""
    return letter_pdf(
        _letter(sheet, "return_paper.summary"),
        lambda press: [*opening(say("return_paper.summary"), sheet.instrument.title, press),
                       *client_summary(sheet, press)],
        photo_pixels,
        paper,
    )  # fmt: skip


def _letter(sheet: ConditionSheet, code: str) -> Letter:
    over = say(code)
    title = say("return_paper.document", what=over, title=sheet.instrument.title, job=sheet.job.name)
    dated = day(sheet.compiled_at)
    foot = f"{sheet.job.name} · {over} · {dated}"
    return Letter(title, f"{over} · {sheet.instrument.title}", foot, sheet.job.examiner, dated)


def _report(sheet: ConditionSheet, press: Press) -> list[Flowable]:
    entry = sheet.returns[0]
    whose = say("report.own_stock") if sheet.job.own_stock else sheet.client.name if sheet.client else ""
    story = opening(say("return_paper.title"), sheet.instrument.title, press)
    story += facts(
        [
            (say("report.job"), sheet.job.name),
            (say("report.client"), whose),
            (say("report.examiner"), sheet.job.examiner),
            (say("report.serial"), sheet.instrument.serial),
            (say("return_paper.handovers"), occasions(entry)),
            (say("return_paper.compared_on"), day(entry.pairs[0].compared_at or sheet.compiled_at)),
        ],
        press,
    )
    story += told_of(entry, sheet, press)
    story += the_rest(sheet, press)
    used = {key for pair in entry.pairs for key in (pair.before_id, pair.after_id, pair.again_id)}
    photos = tuple(photo for photo in sheet.photos if photo.id in used)
    story += [CondPageBreak(90 * MM), heading(say("report.photos"), "photos", press), *photo_grid(photos, press)]
    story += hashes(sheet, press)
    names = [(say("report.signed_examiner"), sheet.job.examiner)]
    if not sheet.job.own_stock:
        names.append((say("report.signed_client"), sheet.client.name if sheet.client else ""))
    return [
        *story,
        CondPageBreak(75 * MM),
        heading(say("report.signatures"), "signatures", press),
        signature_lines(names, press),
    ]

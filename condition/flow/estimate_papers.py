"""The estimate as a paper: drawn from what was sent, and filed with it."""

from __future__ import annotations

from pathlib import Path

from condition.errors import Refused
from condition.flow.attachments import attach, attachments_of
from condition.flow.desk import Desk
from condition.flow.estimates import accepted_totals, answers_of, estimates_of, send, sheet_of
from condition.flow.shop import shop
from condition.flow.whole_files import write_whole
from condition.records.attachment import Attachment
from condition.records.estimate import Estimate
from condition.records.job import Job
from condition.trade.money import plain_amount


def estimate_paper(desk: Desk, estimate: Estimate, *, answered: bool = False) -> bytes:
    """Return the estimate as a PDF; one that was sent always gives the bytes that were sent.

    Parameters
    ----------
    answered : tick the client's answers in its boxes
    """
    from condition.report.estimate_paper import estimate_pdf

    estimate = desk.store.get(Estimate, estimate.id)
    ticks = {line_id: one.answer for line_id, one in answers_of(estimate).items()} if answered else None
    sheet = sheet_of(desk, estimate)
    return estimate_pdf(sheet, sha256=estimate.sent_sha256, answers=ticks, paper=shop(desk).paper)


def paper_name(desk: Desk, estimate: Estimate) -> str:
    """Return the file name of an estimate, such as ``DEMO-1 estimate 1.pdf``."""
    return f"{desk.store.get(Job, estimate.job_id).name} estimate {estimate.edition}.pdf"


def send_estimate(desk: Desk, estimate: Estimate, *, at: str | None = None) -> Estimate:
    """Fix the estimate and file its PDF with the job; raises as :func:`condition.flow.estimates.send`."""
    sent = send(desk, estimate, at=at)
    job = desk.store.get(Job, sent.job_id)
    attach(desk, job, paper_name(desk, sent), estimate_paper(desk, sent), nature="letter", about=sent.id)
    return sent


def sent_paper(desk: Desk, estimate: Estimate) -> bytes:
    """Return the PDF as it was filed on sending; drawn again from what was sent if that was cut short."""
    job = desk.store.get(Job, estimate.job_id)
    filed: tuple[Attachment, ...] = attachments_of(desk, job, estimate.id)
    if filed and filed[0].sha256 in desk.store.vault:
        return desk.store.vault.path(filed[0].sha256).read_bytes()
    return estimate_paper(desk, estimate)


def write_estimate(desk: Desk, job: Job, out: Path, edition: int | None = None) -> Estimate:
    """Write the PDF of the latest edition, or of the one asked for, and return the estimate.

    Raises
    ------
    Refused
        ``estimate.no_edition``: the job has no such estimate.
    """
    found = [one for one in estimates_of(desk, job) if edition in (None, one.edition)]
    if not found:
        raise Refused("estimate.no_edition", job=job.name)
    estimate = found[-1]
    write_whole(out, sent_paper(desk, estimate) if estimate.sent_at else estimate_paper(desk, estimate))
    return estimate


def told_estimate(desk: Desk, estimate: Estimate) -> dict[str, object]:
    """Return the estimate's sums as the command line tells them: amounts as decimal text in the currency's unit."""
    sheet = sheet_of(desk, estimate)
    agreed = accepted_totals(desk, estimate)
    return {
        "number": sheet.number,
        "sent": estimate.sent_at or None,
        "currency": sheet.currency,
        "net": plain_amount(sheet.totals.net, sheet.currency),
        "tax": plain_amount(sheet.totals.tax, sheet.currency),
        "total": plain_amount(sheet.totals.gross, sheet.currency),
        "accepted": plain_amount(agreed.gross, sheet.currency) if agreed else None,
    }

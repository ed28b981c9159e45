"""Checks a PDF given out against the facts attached to it, and says what that proves and what it does not."""

from __future__ import annotations

import hashlib
import io
import json

import pikepdf

from condition.errors import Problem, Refused
from condition.report.seal import ATTACHMENT, FORM, page_digests

MOST_BYTES = 400_000_000


def facts_in(data: bytes) -> tuple[dict, tuple[Problem, ...]]:
    """Return the facts attached to a report and everything in the PDF that does not agree with them.

    The facts are not signed: they show what was altered by accident or by hand, not by somebody who altered both.

    Raises
    ------
    Refused
        ``seal.no_pdf``: not a PDF that can be read. ``seal.no_facts``: not a report of ours.
    """
    if len(data) > MOST_BYTES:
        raise Refused("seal.no_pdf")
    try:
        with pikepdf.open(io.BytesIO(data)) as pdf:
            return _facts(pdf)
    except Refused:
        raise
    except (pikepdf.PdfError, ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        raise Refused("seal.no_pdf") from error


def _facts(pdf: pikepdf.Pdf) -> tuple[dict, tuple[Problem, ...]]:
    if ATTACHMENT not in pdf.attachments:
        raise Refused("seal.no_facts")
    spec = pdf.attachments[ATTACHMENT]
    text = spec.get_file().read_bytes()
    try:
        facts = json.loads(text)
    except ValueError as error:
        raise Refused("seal.no_facts") from error
    if not isinstance(facts, dict) or facts.get("form") != FORM or not isinstance(facts.get("pages"), list):
        raise Refused("seal.no_facts")
    problems = []
    if spec.description != f"SHA-256 {hashlib.sha256(text).hexdigest()}":
        problems.append(Problem(ATTACHMENT, "seal.facts_altered"))
    extra = sorted(name for name in pdf.attachments if name != ATTACHMENT)
    problems += [Problem(name, "seal.extra_attachment") for name in extra]
    found = page_digests(pdf)
    if len(found) != len(facts["pages"]):
        values = (("stated", str(len(facts["pages"]))), ("found", str(len(found))))
        problems.append(Problem("pages", "seal.page_count", values))
    for number, (page, stated, digest) in enumerate(zip(pdf.pages, facts["pages"], found, strict=False), 1):
        if stated != digest:
            problems.append(Problem(f"page {number}", "seal.page_altered"))
        if "/Annots" in page and any(one.get("/Subtype") != "/Link" for one in page.Annots):
            problems.append(Problem(f"page {number}", "seal.page_annotated"))
    return facts, tuple(problems)

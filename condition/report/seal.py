"""The last touch to a PDF: what it says of itself, and the facts it shows as an attachment that can be checked."""

from __future__ import annotations

import hashlib
import io
import json
from collections.abc import Sequence

import pikepdf

from condition.records.measurement import as_text
from condition.records.sheet import ConditionSheet
from condition.words import say

ATTACHMENT = "condition-facts.json"
FORM = "condition facts 1"


def facts_of(sheet: ConditionSheet, sections: Sequence[str]) -> dict:
    """Return what the paper shows in these sections, as JSON-ready values; what it does not show is not there."""
    facts = {
        "form": FORM,
        "job": sheet.job.name,
        "instrument": sheet.instrument.title,
        "examiner": sheet.job.examiner,
        "compiled_at": sheet.compiled_at,
    }
    if "hashes" in sections:
        facts["job_id"] = sheet.job.id
    if {"photos", "hashes"} & set(sections):
        facts["photos"] = [
            {"file": photo.file_name, "width": photo.width, "height": photo.height, "sha256": photo.sha256}
            for photo in sheet.photos
        ]
    if {"maps", "findings"} & set(sections):
        facts["findings"] = [
            {
                "number": entry.finding.number,
                "kind": entry.finding.kind,
                "measurements": [as_text(one) for one in entry.measurements],
            }
            for entry in sheet.findings
        ]
    return facts


def page_digests(pdf: pikepdf.Pdf) -> list[str]:
    """Return one SHA-256 a page over all it draws: content, pictures, forms and fonts, decoded."""
    return [_page_digest(page) for page in pdf.pages]


def _page_digest(page: pikepdf.Page) -> str:
    digest = hashlib.sha256()
    page.contents_coalesce()
    digest.update(page.Contents.read_bytes())
    digest.update(repr([float(value) for value in page.mediabox]).encode())
    resources = page.resources
    for name in sorted(str(key) for key in resources.get("/XObject", {})):
        _add_stream(digest, name, resources.XObject[name])
    for name in sorted(str(key) for key in resources.get("/Font", {})):
        font = resources.Font[name]
        descriptor = font.get("/FontDescriptor", {})
        for key in ("/FontFile2", "/FontFile3", "/FontFile"):
            if key in descriptor:
                _add_stream(digest, name + key, descriptor[key])
        if "/ToUnicode" in font:
            _add_stream(digest, name + "/ToUnicode", font["/ToUnicode"])
    return digest.hexdigest()


def _add_stream(digest, name: str, stream: pikepdf.Object) -> None:
    digest.update(name.encode())
    digest.update(stream.read_raw_bytes() if stream.get("/Subtype") == "/Image" else stream.read_bytes())


def sealed(data: bytes, sheet: ConditionSheet, sections: Sequence[str]) -> bytes:
    """Return the PDF with title, language, XMP, and the facts with their digests attached; no other change."""
    with pikepdf.open(io.BytesIO(data)) as pdf:
        _describe(pdf, sheet)
        facts = facts_of(sheet, sections) | {"pages": page_digests(pdf)}
        text = json.dumps(facts, ensure_ascii=False, indent=1, sort_keys=True).encode()
        digest = hashlib.sha256(text).hexdigest()
        spec = pikepdf.AttachedFileSpec(
            pdf,
            text,
            filename=ATTACHMENT,
            mime_type="application/json",
            description=f"SHA-256 {digest}",
            creation_date="",
            mod_date="",
        )
        pdf.attachments[ATTACHMENT] = spec
        buffer = io.BytesIO()
        pdf.save(buffer, deterministic_id=True, linearize=False)
        return buffer.getvalue()


def _describe(pdf: pikepdf.Pdf, sheet: ConditionSheet) -> None:
    title = say("report.document_title", title=sheet.instrument.title, job=sheet.job.name)
    pdf.Root.Lang = pikepdf.String("en")
    pdf.Root.ViewerPreferences = pikepdf.Dictionary(DisplayDocTitle=True)
    pdf.Root.PageMode = pikepdf.Name.UseOutlines
    stamp = sheet.compiled_at
    compact = "D:" + "".join(c for c in stamp if c.isdigit())[:14] + "Z"
    pdf.docinfo["/CreationDate"] = pdf.docinfo["/ModDate"] = compact
    pdf.docinfo["/Producer"] = pdf.docinfo["/Creator"] = "condition"
    pdf.docinfo["/Title"] = title
    with pdf.open_metadata(set_pikepdf_as_editor=False, update_docinfo=False) as meta:
        meta["dc:title"] = title
        if sheet.job.examiner:
            meta["dc:creator"] = [sheet.job.examiner]
        meta["dc:description"] = say("report.overline")
        meta["dc:language"] = ["en"]
        meta["xmp:CreateDate"] = meta["xmp:ModifyDate"] = stamp
        meta["xmp:CreatorTool"] = meta["pdf:Producer"] = "condition"

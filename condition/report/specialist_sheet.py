"""What a specialist has to know: what is asked, what must not be touched, what is fragile, what has to come back.

No prices, no value declared, no client: whose it is and what it is worth is not the specialist's to carry about.
"""

from __future__ import annotations

from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import CondPageBreak, Flowable, Paragraph, Spacer

from condition.records.custody import HandoverSheet
from condition.records.finding import Finding
from condition.records.legend import ALERT, RULE
from condition.report.drawing import MM
from condition.report.flowables import noted
from condition.report.letter import Letter, facts, heading, letter_pdf, opening
from condition.report.photo_grid import photo_grid
from condition.report.pictures import Pixels
from condition.report.sections import Press
from condition.report.styles import BODY, KIND, LEAD, TOLD, Paper
from condition.words import say

_WARNED = ParagraphStyle(
    "warned",
    parent=LEAD,
    textColor=ALERT,
    borderColor=ALERT,
    borderWidth=0.6,
    borderPadding=7,
    spaceBefore=6,
    spaceAfter=10,
)
_BOXED = ParagraphStyle("boxed", parent=BODY, borderColor=RULE, borderWidth=0.6, borderPadding=7, spaceAfter=10)


def specialist_pdf(sheet: HandoverSheet, *, photo_pixels: Pixels, paper: Paper = "a4") -> bytes:
    """Return the specialist's sheet as a PDF; the same sheet gives the same bytes."""
    over = say("specialist.overline")
    title = say("specialist.document", title=sheet.instrument.title, job=sheet.job.name)
    foot = f"{sheet.job.name} · {over} · {sheet.day}"
    letter = Letter(title, f"{over} · {sheet.instrument.title}", foot, sheet.job.examiner, sheet.day)
    return letter_pdf(letter, lambda press: _story(sheet, press, over), photo_pixels, paper)


def _story(sheet: HandoverSheet, press: Press, over: str) -> list[Flowable]:
    one, mark = sheet.handover, press.type_.markup
    story = opening(over, sheet.thing or sheet.instrument.title, press)
    story += facts(_facts(sheet), press)
    story += [Spacer(0, 3 * MM), heading(say("specialist.asked"), "asked", press)]
    story.append(Paragraph(mark(one.asked or say("specialist.nothing_asked")), LEAD))
    story.append(Spacer(0, 6 * MM))
    if one.untouched:
        story.append(heading(say("specialist.untouched"), "untouched", press))
        story += [Paragraph(mark(one.untouched, "semibold"), _WARNED), Spacer(0, 5 * MM)]
    for code, text in (("keep", one.keep), ("fragile", one.fragile)):
        if text:
            story.append(heading(say(f"specialist.{code}"), code, press))
            story += [Paragraph(mark(text), _BOXED), Spacer(0, 5 * MM)]
    story += press.noted(say("specialist.condition"), one.condition)
    if sheet.findings:
        story += [CondPageBreak(50 * MM), heading(say("specialist.findings"), "findings", press)]
        for finding in sheet.findings:
            story += _finding(finding, press)
    if sheet.photos:
        story += [CondPageBreak(90 * MM), heading(say("specialist.photos"), "photos", press)]
        story += photo_grid(sheet.photos, press)
    return [*story, *press.noted(say("specialist.send_back"), say("specialist.send_back_words"))]


def _facts(sheet: HandoverSheet) -> list[tuple[str, str]]:
    return [
        (say("specialist.for"), sheet.taker.name if sheet.taker else ""),
        (
            say("specialist.from"),
            "\n".join(filter(None, (sheet.shop.name, sheet.shop.address, sheet.shop.contact, sheet.job.examiner))),
        ),
        (say("specialist.instrument"), sheet.instrument.title if sheet.thing else sheet.instrument.family),
        (say("specialist.day"), sheet.day),
        (say("specialist.due"), sheet.handover.due_on),
        (say("specialist.job"), sheet.job.name),
    ]


def _finding(finding: Finding, press: Press) -> list[Flowable]:
    kind = finding.own_kind or say(f"kind.{finding.kind}")
    name = press.type_.markup(f"{kind[:1].upper()}{kind[1:]}", "semibold")
    where = press.type_.markup(f"  {finding.place}") if finding.place else ""
    label = Paragraph(press.type_.markup(str(finding.number), "display"), KIND)
    story: list[Flowable] = [noted(name + where, KIND, label)]
    if finding.observation:
        story.append(noted(press.type_.markup(finding.observation), TOLD))
    return [*story, Spacer(0, 2 * MM)]

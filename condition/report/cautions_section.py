"""Cautions that concern this instrument: by the thing that calls for each, with its source."""

from __future__ import annotations

from reportlab.platypus import CondPageBreak, Flowable, Paragraph, Spacer

from condition.records.sheet import ConditionSheet
from condition.report.drawing import MM
from condition.report.flowables import note, noted
from condition.report.sections import Press
from condition.report.styles import BODY, NOTE, NOTES_MM
from condition.trade.cautions import Caution, all_cautions, cautions_for
from condition.words import say


def concerned(sheet: ConditionSheet) -> list[tuple[Caution, list[str]]]:
    """Return the cautions this job calls for, each with what it concerns, in the table's order."""
    found: dict[str, list[str]] = {}
    for what, told in _told(sheet):
        for caution in cautions_for(**told):
            names = found.setdefault(caution.code, [])
            if what not in names:
                names.append(what)
    return [(caution, found[caution.code]) for caution in all_cautions() if caution.code in found]


def _told(sheet: ConditionSheet) -> list[tuple[str, dict[str, str]]]:
    told = [(say("caution.instrument"), {"materials": sheet.instrument.materials})]
    for part in (part for part in sheet.parts if part.place != "not there"):
        told.append((part.name, {"parts": "" if part.untouched else part.code, "materials": part.material}))
    for entry in sheet.findings:
        finding = entry.finding
        told.append((say("caution.finding", number=finding.number), {"findings": finding.kind}))
    for step in sheet.strip_down:
        told.append((say("caution.step", number=step.step_order), {"steps": f"{step.what} {step.wires}"}))
    return told


def cautions(sheet: ConditionSheet, press: Press) -> list[Flowable]:
    """Return the section; nothing when nothing recorded calls for a caution."""
    found = concerned(sheet)
    if not found:
        return []
    story: list[Flowable] = [CondPageBreak(60 * MM), Spacer(0, 6 * MM), press.heading("cautions")]
    story += press.noted("", say("caution.who decides"))
    left = NOTES_MM * MM
    for caution, names in found:
        text = press.type_.markup(say(f"caution.{caution.code}"))
        about = press.type_.markup(
            f"{say('caution.about', what=', '.join(names))}\n{say('caution.source', source=caution.source)}", "caption"
        )
        story += [
            noted(text, BODY, note(say(f"caution.title {caution.code}"), press.type_)),
            Paragraph(about, NOTE.clone("caution-source", leftIndent=left)),
            Spacer(0, 3 * MM),
        ]
    return story

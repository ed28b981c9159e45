"""The findings, one by one: number, words, measurements, and what the photo shows of each."""

from __future__ import annotations

from reportlab.platypus import Flowable, PageBreak, Paragraph

from condition.measure.combine import NOTE as DISAGREE
from condition.records.legend import ACCENT, MUTED
from condition.records.measurement import Measurement, as_text
from condition.records.sheet import ConditionSheet, FindingEntry
from condition.report.closeup import CloseUp, close_ups, draw_close_up
from condition.report.drawing import MM, draw_on, pdf_text
from condition.report.flowables import Beside, Painted
from condition.report.sections import Press
from condition.report.styles import KIND, MEASURE, MEASURE_LAST, NOTE, TOLD
from condition.report.symbols import kind_symbol
from condition.words import say

NUMBER_MM = 18.0
CLOSE_UP_MM = 56.0
_ASPECT = 0.72


def findings(sheet: ConditionSheet, press: Press) -> list[Flowable]:
    """Return the list with the same numbers as the maps."""
    if not sheet.findings:
        return [PageBreak(), press.heading("findings"), *press.noted("", say("report.no_findings"))]
    story: list[Flowable] = [PageBreak(), press.heading("findings")]
    for k, entry in enumerate(sheet.findings):
        story.append(_finding(entry, sheet, press, ruled=k > 0))
    return story


def _finding(entry: FindingEntry, sheet: ConditionSheet, press: Press, *, ruled: bool) -> Flowable:
    pictures = [_picture(one, press) for one in close_ups(entry, sheet.photos, _ASPECT)]
    finding = entry.finding

    def head(canvas) -> None:
        size = 17
        end = pdf_text(canvas, press.type_, 0, -size * 0.82, str(finding.number), size, ACCENT, "display")
        draw_on(canvas, kind_symbol(finding.kind, end / MM + 3.6, 2.9, 1.6), press.type_)

    return Beside(
        _paragraphs(entry, sheet, press),
        pictures,
        head,
        left_mm=NUMBER_MM,
        right_mm=CLOSE_UP_MM,
        head_mm=8.0,
        ruled=ruled,
    )


def _paragraphs(entry: FindingEntry, sheet: ConditionSheet, press: Press) -> list[Paragraph]:
    finding, type_ = entry.finding, press.type_
    views = {one.view.id: one.view.name for one in sheet.views}
    kind = finding.own_kind or say(f"kind.{finding.kind}")
    face = views.get(finding.view_id or "", "")
    if finding.place.casefold().startswith(face.casefold()):
        face = ""
    where = ", ".join(filter(None, (face, finding.place)))
    heading = type_.markup(kind[:1].upper() + kind[1:], "semibold")
    if where:
        heading += type_.markup(f"  {where}", "text")
    lines = [Paragraph(heading, KIND)]
    last = len(entry.measurements) - 1
    for k, one in enumerate(entry.measurements):
        lines.append(Paragraph(_measured(one, press), MEASURE_LAST if k == last else MEASURE))
    if finding.state == "doubtful":
        lines.append(Paragraph(type_.markup(say("report.doubtful"), "italic"), TOLD))
    if finding.observation:
        lines.append(Paragraph(type_.markup(finding.observation), TOLD))
    if finding.interpretation:
        lines.append(_labelled(say("report.interpretation"), finding.interpretation, press, "italic"))
    if finding.decision:
        decision = say(f"decision.{finding.decision.replace(' ', '_')}")
        reason = f": {finding.decision_reason}" if finding.decision_reason else ""
        lines.append(_labelled(say("report.decision"), decision + reason, press, "text"))
    reasons = {marked.mark.not_measured for marked in entry.marks if marked.mark.not_measured}
    lines += [Paragraph(type_.markup(say(reason), "caption"), NOTE) for reason in sorted(reasons)]
    return lines


def _measured(one: Measurement, press: Press) -> str:
    text = press.type_.markup(f"{say(f'quantity.{one.quantity}')} ", "text") + press.type_.markup(
        as_text(one), "semibold"
    )
    if one.source != "photo":
        text += press.type_.markup(f"  {say(f'source.{one.source}')}", "italic")
    if one.note:
        known = say(f"measure.note_{one.note}") if one.note == DISAGREE else one.note
        text += press.type_.markup(f"  {known}", "italic")
    return text


def _labelled(label: str, text: str, press: Press, face: str) -> Paragraph:
    muted = f'<font color="{MUTED}" size="7.6">{press.type_.markup(label, "caption")}</font>&nbsp;&nbsp;'
    return Paragraph(muted + press.type_.markup(text, face), TOLD)


def _picture(one: CloseUp, press: Press) -> Flowable:
    width = CLOSE_UP_MM
    height = one.height_px * width / one.width_px
    below = 4.4 if one.mm_per_px else 0.0
    caption = one.photo.file_name if one.mm_per_px else f"{one.photo.file_name} · {say('report.without_scale')}"
    words = Paragraph(press.type_.markup(caption, "caption"), NOTE)
    words.wrap(width * MM, 40 * MM)
    overlay = draw_close_up(one, width)

    def paint(canvas) -> None:
        canvas.drawImage(press.pictures.crop(one.photo, one.box_px, width), 0, -height * MM, width * MM, height * MM)
        canvas.saveState()
        frame = canvas.beginPath()
        frame.rect(0, -(height + below) * MM, width * MM, (height + below) * MM)
        canvas.clipPath(frame, stroke=0, fill=0)
        draw_on(canvas, overlay, press.type_)
        canvas.restoreState()
        words.drawOn(canvas, 0, -(height + below) * MM - words.height - 0.6 * MM)

    return Painted(width * MM, (height + below + 2.4) * MM + words.height, paint)

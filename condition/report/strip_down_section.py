"""The strip-down log: what came off in which order, what went back, and what is left over."""

from __future__ import annotations

from reportlab.platypus import CondPageBreak, Flowable, Paragraph, Spacer

from condition.records.legend import ACCENT
from condition.records.reassembly import account
from condition.records.sheet import ConditionSheet
from condition.records.strip_down import StripDownStep
from condition.report.drawing import MM, pdf_text
from condition.report.flowables import Beside, Painted
from condition.report.left_over import over_in_words
from condition.report.pictures import fitted
from condition.report.sections import Press, day
from condition.report.styles import KIND, NOTE, TOLD
from condition.words import say, say_n

NUMBER_MM = 18.0
_PICTURE_MM = (34.0, 28.0)


def strip_down(sheet: ConditionSheet, press: Press) -> list[Flowable]:
    """Return the section; nothing when nothing came off."""
    if not sheet.strip_down:
        return []
    story: list[Flowable] = [CondPageBreak(70 * MM), Spacer(0, 6 * MM), press.heading("strip_down")]
    story += press.noted(say("strip_down.how"), say("strip_down.how_text"))
    for k, step in enumerate(sheet.strip_down):
        story.append(_step(step, sheet, press, ruled=k > 0))
    left = account(sheet.strip_down, sheet.bags, sheet.parts)
    story.append(Spacer(0, 5 * MM))
    story += press.noted(say("strip_down.left_over"), "\n".join(over_in_words(left)))
    return story


def _step(step: StripDownStep, sheet: ConditionSheet, press: Press, *, ruled: bool) -> Flowable:
    markup = press.type_.markup
    bag = next((one.number for one in sheet.bags if one.id == step.bag_id), None)
    heading = markup(step.what[:1].upper() + step.what[1:], "semibold")
    if bag is not None:
        heading += markup(f"  {say('bags.title', number=bag)}", "text")
    lines = [Paragraph(heading, KIND)]
    if step.stopped:
        lines.append(Paragraph(markup(say("strip_down.stopped_because", reason=step.reason), "semibold"), TOLD))
    for screws in step.screws:
        words = say_n("bags.screws", screws.count)
        words = say("bags.screws_of", screws=words, hole=screws.hole) if screws.hole else words
        lines.append(Paragraph(markup(words), TOLD))
    if step.wires:
        lines.append(Paragraph(markup(say("strip_down.wires_were", what=step.wires)), TOLD))
    if step.fragments:
        lines.append(Paragraph(markup(say("strip_down.fragments_were", what=step.fragments)), TOLD))
    lines.append(Paragraph(markup("\n".join(_when(step)), "caption"), NOTE))
    photo = next((one for one in sheet.photos if one.id == step.photo_id), None)
    pictures = []
    if photo is not None:
        width, height = fitted(photo.width, photo.height, *_PICTURE_MM)

        def paint(canvas) -> None:
            canvas.drawImage(press.pictures.whole(photo, width), 0, -height * MM, width * MM, height * MM)

        pictures.append(Painted(_PICTURE_MM[0] * MM, (height + 2) * MM, paint))

    def head(canvas) -> None:
        pdf_text(canvas, press.type_, 0, -17 * 0.82, str(step.step_order), 17, ACCENT, "display")

    return Beside(lines, pictures, head, left_mm=NUMBER_MM, right_mm=_PICTURE_MM[0], head_mm=8.0, ruled=ruled)


def _when(step: StripDownStep) -> list[str]:
    taken = "strip_down.stopped_on" if step.stopped else "strip_down.taken"
    lines = [say(taken, when=day(step.taken_at), who=step.taken_by)] if step.taken_at else []
    if step.back:
        lines.append(say("strip_down.back_on", when=day(step.back_at), who=step.back_by))
    elif step.goes_back:
        lines.append(say("strip_down.not_back"))
    return lines

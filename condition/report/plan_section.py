"""The repair plan in the condition report: what is to be done and what is left, in the order of work; no prices."""

from __future__ import annotations

from reportlab.platypus import CondPageBreak, Flowable, Paragraph, Spacer

from condition.records.sheet import ConditionSheet
from condition.records.treatment import PlanEntry, Treatment
from condition.report.drawing import MM
from condition.report.flowables import noted
from condition.report.sections import Press
from condition.report.styles import ITALIC, KIND, TOLD
from condition.words import say


def plan(sheet: ConditionSheet, press: Press) -> list[Flowable]:
    """Return the plan, nothing when there is none."""
    if not sheet.plan:
        return []
    story: list[Flowable] = [CondPageBreak(70 * MM), Spacer(0, 6 * MM), press.heading("plan")]
    for turn, entry in enumerate(sheet.plan, 1):
        story += _treatment(turn, entry, press)
    return story


def _treatment(turn: int, entry: PlanEntry, press: Press) -> list[Flowable]:
    one, mark = entry.treatment, press.type_.markup
    label = Paragraph(mark(f"{turn}", "display"), KIND)
    action = say(f"plan.action_{one.action.replace(' ', '_')}")
    head = mark(one.what or action, "semibold")
    if entry.subject:
        head += mark(f"  {entry.subject}")
    story: list[Flowable] = [noted(head, KIND, label)]
    story += [noted(mark(text, face), ITALIC if face == "italic" else TOLD) for text, face in _told(one, action)]
    return [*story, Spacer(0, 3 * MM)]


def _told(one: Treatment, action: str) -> list[tuple[str, str]]:
    facts = [action if one.what else ""]
    if one.reversible:
        facts.append(say(f"plan.reversible_{one.reversible.replace(' ', '_')}"))
    if one.option_group:
        code = "plan.option_taken" if one.chosen else "plan.option_other"
        facts.append(say(code, group=one.option_group))
    told = [(" · ".join(filter(None, facts)), "text"), (one.how, "text"), (one.why, "italic")]
    if one.lost:
        told.append((say("plan.lost_said", what=one.lost), "text"))
    if one.in_spite:
        told.append((say("plan.in_spite_said", why=one.in_spite), "text"))
    if one.done_on:
        code = "plan.done_said" if one.done_words else "plan.done_plain"
        told.append((say(code, day=one.done_on, words=one.done_words), "text"))
    return [(text, face) for text, face in told if text]

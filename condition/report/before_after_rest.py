"""The rest of a return: what was asked beside what was done, what is not back, bags and screws counted back in."""

from __future__ import annotations

from collections.abc import Sequence

from reportlab.platypus import CondPageBreak, Flowable

from condition.records.job import Job
from condition.records.part import Part
from condition.records.reassembly import account
from condition.records.sheet import ConditionSheet
from condition.records.strip_down import Bag
from condition.records.treatment import PlanEntry
from condition.report.drawing import MM
from condition.report.faults_section import faults
from condition.report.flowables import Heading
from condition.report.function_test_section import function_test
from condition.report.left_over import over_in_words
from condition.report.readings_section import readings
from condition.report.sections import Press
from condition.report.styles import BODY
from condition.words import say

AWAY = ("bag", "bench", "out", "not there")
"""Places of a part that is neither on the instrument nor in its case."""


def the_rest(sheet: ConditionSheet, press: Press) -> list[Flowable]:
    """Return readings, function test and faults, then what was asked, what is not back, what is left over."""
    story = [*readings(sheet, press), *function_test(sheet, press), *faults(sheet, press)]
    for code, lines in (
        ("asked", asked_and_done(sheet.job, sheet.plan)),
        ("not_back", not_back(sheet.parts, sheet.bags)),
    ):
        if lines:
            story += [CondPageBreak(50 * MM), Heading(say(f"return_paper.{code}"), press.type_, code)]
            story += [part for label, text in lines for part in press.noted(label, text, BODY)]
    if sheet.strip_down:
        left = account(sheet.strip_down, sheet.bags, sheet.parts)
        story += [CondPageBreak(30 * MM), Heading(say("return_paper.counted"), press.type_, "counted")]
        story += press.noted("", "\n".join(over_in_words(left)), BODY)
    return story


def asked_and_done(job: Job, plan: Sequence[PlanEntry]) -> list[tuple[str, str]]:
    """Return (what was asked for or planned, what was agreed and done), requests first."""
    lines = []
    chosen = [entry for entry in plan if entry.treatment.chosen]
    for item in job.request_items:
        answers = [entry for entry in chosen if entry.treatment.request.strip() == item.strip()]
        text = "; ".join(_answer(entry) for entry in answers) if answers else say("return_paper.no_treatment")
        lines.append((say("return_paper.asked_label"), f"{item}: {text}"))
    for entry in chosen:
        if entry.treatment.about in ("fault", "reading", "own"):
            subject = entry.subject or entry.treatment.what
            lines.append((say("return_paper.planned_label"), f"{subject}: {_answer(entry)}"))
    return lines


def _answer(entry: PlanEntry) -> str:
    one = entry.treatment
    action = say(f"plan.action_{one.action.replace(' ', '_')}")
    if one.done_on:
        done = " ".join(filter(None, (one.done_on, one.done_words)))
        return say("return_paper.action_done", action=action, done=done)
    return action if one.action == "leave" else say("return_paper.action_open", action=action)


def not_back(parts: Sequence[Part], bags: Sequence[Bag]) -> list[tuple[str, str]]:
    """Return (part, where it is) of everything that is not on the instrument or in its case."""
    known = {bag.id: bag for bag in bags}
    return [(part.name, _where(part, known)) for part in parts if part.place in AWAY]


def _where(part: Part, bags: dict[str, Bag]) -> str:
    if part.place == "out":
        return say("parts.out", who=part.out_to)
    bag = bags.get(part.bag_id or "")
    if part.place == "bag" and bag is not None:
        return " ".join(filter(None, (say("parts.in_bag", number=bag.number), bag.stays)))
    return say(f"parts.place_{part.place}")

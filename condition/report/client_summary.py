"""One page for the client: what became of each thing, and what is new."""

from __future__ import annotations

from reportlab.platypus import Flowable, Paragraph, Spacer

from condition.records.measurement import as_text
from condition.records.return_check import ReturnChange, ReturnVerdict
from condition.records.return_sheet import ReturnEntry
from condition.records.sheet import ConditionSheet, FindingEntry
from condition.report.before_after import new_changes
from condition.report.before_after_rest import not_back
from condition.report.before_after_words import agreed_and_done, sentence
from condition.report.drawing import MM
from condition.report.flowables import Heading
from condition.report.letter import Row
from condition.report.sections import Press
from condition.report.styles import BODY, KIND, LEAD, NOTE
from condition.words import say, say_n

MOST_ROWS = 15
"""What one page holds; the rest is told to stand in the report."""


def client_summary(sheet: ConditionSheet, press: Press) -> list[Flowable]:
    """Return the page of the latest return check; nothing when there is none."""
    if not sheet.returns:
        return []
    entry = sheet.returns[-1]
    story: list[Flowable] = [
        Heading(say("return_paper.summary_head"), press.type_, f"summary-{entry.check.id}"),
        Paragraph(press.type_.markup(_in_one_sentence(entry)), LEAD),
        Spacer(0, 4 * MM),
    ]
    rows = [*_new_rows(entry, sheet, press), *_rows(entry, sheet, press)]
    story += rows[:MOST_ROWS]
    if len(rows) > MOST_ROWS:
        story.append(Paragraph(press.type_.markup(say_n("return_paper.more", len(rows) - MOST_ROWS)), NOTE))
    story.append(Spacer(0, 4 * MM))
    for label, text in _besides(entry, sheet):
        story += press.noted(label, text)
    return [*story, Spacer(0, 2 * MM), Paragraph(press.type_.markup(say("return_paper.summary_foot")), NOTE)]


def _besides(entry: ReturnEntry, sheet: ConditionSheet) -> list[tuple[str, str]]:
    """(label, words) of what does not come back on the instrument, and of what could not be compared."""
    away = "; ".join(f"{name} ({where})" for name, where in not_back(sheet.parts, sheet.bags))
    apart = sum(len(one.change_ids) for one in entry.doubt)
    unsure = [entry.check.not_compared, say_n("return_paper.n_apart", apart) if apart else ""]
    lines = [
        (say("return_paper.not_back"), sentence(away)),
        (say("return_paper.not_compared"), " ".join(sentence(text) for text in unsure if text)),
    ]
    return [(label, text) for label, text in lines if text]


def _in_one_sentence(entry: ReturnEntry) -> str:
    counts = {code: sum(one.verdict == code for one in entry.verdicts) for code in ("repaired", "better", "as it was")}
    other = sum(one.verdict in ("worse", "not seen") for one in entry.verdicts)
    new, undecided = _new(entry)
    parts = [
        say_n("return_paper.n_repaired", counts["repaired"] + counts["better"]),
        say_n("return_paper.n_as_it_was", counts["as it was"]),
        say_n("return_paper.n_other", other) if other else "",
        say_n("return_paper.n_new", len(new)) if new else "",
        say_n("return_paper.n_undecided", len(undecided)) if undecided else "",
        "" if new or undecided else say("return_paper.none_new"),
    ]
    return " ".join(filter(None, parts))


def _new(entry: ReturnEntry) -> tuple[list[ReturnChange], list[ReturnChange]]:
    """What was accepted as new, and what nobody has decided yet."""
    found = new_changes(entry)
    return [one for one in found if one.decision == "accepted"], [one for one in found if one.decision != "accepted"]


def _new_rows(entry: ReturnEntry, sheet: ConditionSheet, press: Press) -> list[Flowable]:
    known = {one.finding.id: one for one in sheet.findings}
    ids = {one.finding_id for one in _new(entry)[0]}
    new = sorted((known[key] for key in ids if key in known), key=lambda one: one.finding.number)
    return [
        _row(
            str(about.finding.number),
            _kind(about),
            say("return_paper.is_new"),
            about.finding.observation,
            press,
            strong=True,
        )
        for about in new
    ]


def _rows(entry: ReturnEntry, sheet: ConditionSheet, press: Press) -> list[Flowable]:
    known = {one.finding.id: one for one in sheet.findings}
    return [
        _row(
            str(known[one.finding_id].finding.number),
            _kind(known[one.finding_id]),
            say(f"returns.verdict_{one.verdict}"),
            _words(one, known[one.finding_id], sheet),
            press,
        )
        for one in entry.verdicts
        if one.finding_id in known
    ]


def _kind(about: FindingEntry) -> str:
    kind = about.finding.own_kind or say(f"kind.{about.finding.kind}")
    return kind[:1].upper() + kind[1:]


def _words(verdict: ReturnVerdict, about: FindingEntry, sheet: ConditionSheet) -> str:
    done = [text for label, text in agreed_and_done(about.finding, sheet) if label == say("return_paper.done")]
    sizes = ""
    if verdict.before is not None and verdict.after is not None:
        sizes = say("return_paper.from_to", before=as_text(verdict.before), after=as_text(verdict.after))
    place = about.finding.place
    told = (place[:1].upper() + place[1:], verdict.words, *done[:1], sizes)
    return " ".join(sentence(text) for text in told if text)


def _row(number: str, kind: str, verdict: str, words: str, press: Press, *, strong: bool = False) -> Flowable:
    mark = press.type_.markup
    wide = press.page.measure / MM
    cells = [
        (Paragraph(mark(number, "display"), KIND), 0.0, 12.0),
        (Paragraph(mark(kind, "semibold"), BODY), 13.0, 37.0),
        (Paragraph(mark(verdict, "semibold"), BODY), 52.0, 26.0),
        (Paragraph(mark(words), BODY), 80.0, wide - 80.0),
    ]
    return Row(cells, 3, ruled=True, strong=strong)

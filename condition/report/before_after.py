"""Before and after: new damage first, then what became of each finding, then what could not be compared."""

from __future__ import annotations

from collections import Counter

from reportlab.platypus import CondPageBreak, Flowable, PageBreak, Paragraph

from condition.records.legend import ACCENT, MUTED
from condition.records.measurement import Measurement, as_text
from condition.records.photo import Photo
from condition.records.return_check import ReturnChange, ReturnVerdict
from condition.records.return_sheet import ReturnEntry
from condition.records.sheet import ConditionSheet, FindingEntry
from condition.report.before_after_pictures import PAIR_MM, close_up_of, close_up_round, picture_pair
from condition.report.before_after_words import agreed_and_done, not_compared, why_text
from condition.report.drawing import MM, pdf_text
from condition.report.flowables import Beside, Heading
from condition.report.sections import Press
from condition.report.styles import BODY, KIND, MEASURE, NOTE, TOLD
from condition.words import say, say_n

NUMBER_MM = 14.0
BENCH = "bench"


def before_after(sheet: ConditionSheet, press: Press) -> list[Flowable]:
    """Return every return check of the job, in the order they were made; nothing when there is none."""
    return [part for entry in sheet.returns for part in one_check(entry, sheet, press)]


def one_check(entry: ReturnEntry, sheet: ConditionSheet, press: Press) -> list[Flowable]:
    """Return one check as a section of the condition report."""
    key = f"before-after-{entry.check.id}"
    heading = Heading(say("return_paper.title"), press.type_, key, occasions(entry))
    return [PageBreak(), heading, *told_of(entry, sheet, press, level=1)]


def occasions(entry: ReturnEntry) -> str:
    return say(
        "return_paper.occasions",
        earlier=say(f"returns.occasion_{entry.check.earlier}"),
        later=say(f"returns.occasion_{entry.check.later}"),
    )


def told_of(entry: ReturnEntry, sheet: ConditionSheet, press: Press, *, level: int = 0) -> list[Flowable]:
    """Return all that one check tells, without a title; ``level`` is that of its headings in the outline."""
    check = entry.check
    story: list[Flowable] = []
    story += press.noted(say("return_paper.about"), check.words)
    story += _new(entry, sheet, press, level)
    story += _verdicts(entry, sheet, press, level)
    story += _settled(entry, press, level)
    return [*story, *_not_compared(entry, sheet, press, level)]


def _part(code: str, key: str, press: Press, level: int) -> list[Flowable]:
    return [CondPageBreak(60 * MM), Heading(say(f"return_paper.{code}"), press.type_, key, level=level)]


def new_changes(entry: ReturnEntry) -> tuple[ReturnChange, ...]:
    """Return what nobody mentioned: accepted as a finding, or sure and still open; each place once."""
    first = [one for one in entry.changes if not one.same_as]
    accepted = [one for one in first if one.decision == "accepted"]
    still_open = [one for one in first if one.decision == "open" and not one.touches and not one.reason]
    return (*accepted, *still_open)


def _new(entry: ReturnEntry, sheet: ConditionSheet, press: Press, level: int) -> list[Flowable]:
    numbers = {one.finding.id: one.finding.number for one in sheet.findings}
    found = sorted(new_changes(entry), key=lambda one: numbers.get(one.finding_id, len(numbers) + 1))
    story = _part("new", f"new-{entry.check.id}", press, level)
    if not found:
        return [*story, *press.noted("", say("return_paper.nothing_new"))]
    for k, change in enumerate(found):
        story.append(_new_one(change, entry, sheet, press, ruled=k > 0))
    return story


def _new_one(change: ReturnChange, entry: ReturnEntry, sheet: ConditionSheet, press: Press, *, ruled: bool) -> Flowable:
    mark = press.type_.markup
    finding = next((one.finding for one in sheet.findings if one.finding.id == change.finding_id), None)
    pair = next(one for one in entry.pairs if one.id == change.pair_id)
    photos = _photos(sheet)
    before, after = photos[pair.before_id], photos[pair.after_id]
    kind = (finding.own_kind or say(f"kind.{finding.kind}")) if finding else say("return_paper.not_decided")
    lines = [Paragraph(mark(kind[:1].upper() + kind[1:], "semibold"), KIND)]
    measured = next((one for one in sheet.findings if finding and one.finding.id == finding.id), None)
    sizes = measured.measurements if measured else ((change.area,) if change.area else ())
    lines += [Paragraph(_size(one, press), MEASURE) for one in sizes if one.quantity != "share"][:2]
    words = (finding.observation if finding else "") or change.words
    if words:
        lines.append(Paragraph(mark(words), TOLD))
    lines.append(Paragraph(mark(say("return_paper.seen_by", value=f"{change.delta_e:.1f}"), "caption"), NOTE))
    pictures = [picture_pair(close_up_round(change.ring_before_px, before), pair, before, after, press)]
    return _beside(str(finding.number) if finding else "–", lines, pictures, press, ruled)


def _verdicts(entry: ReturnEntry, sheet: ConditionSheet, press: Press, level: int) -> list[Flowable]:
    if not entry.verdicts:
        return []
    known = {one.finding.id: one for one in sheet.findings}
    story = _part("verdicts", f"verdicts-{entry.check.id}", press, level)
    for k, verdict in enumerate(one for one in entry.verdicts if one.finding_id in known):
        story.append(_verdict(verdict, known[verdict.finding_id], entry, sheet, press, ruled=k > 0))
    return story


def _verdict(
    verdict: ReturnVerdict,
    about: FindingEntry,
    entry: ReturnEntry,
    sheet: ConditionSheet,
    press: Press,
    *,
    ruled: bool,
) -> Flowable:
    mark, finding = press.type_.markup, about.finding
    kind = finding.own_kind or say(f"kind.{finding.kind}")
    lines = [
        Paragraph(mark(kind[:1].upper() + kind[1:], "semibold") + mark(f"  {finding.place}"), KIND),
        Paragraph(mark(say(f"returns.verdict_{verdict.verdict}"), "semibold"), MEASURE),
    ]
    lines += [Paragraph(mark(text, face), TOLD) for text, face in _told(verdict, sheet)]
    for label, text in agreed_and_done(finding, sheet):
        muted = f'<font color="{MUTED}" size="7.6">{mark(label, "caption")}</font>&nbsp;&nbsp;'
        lines.append(Paragraph(muted + mark(text), TOLD))
    return _beside(str(finding.number), lines, _pictures(verdict, about, entry, sheet, press), press, ruled)


def _told(verdict: ReturnVerdict, sheet: ConditionSheet) -> list[tuple[str, str]]:
    sizes = []
    if verdict.before is not None:
        sizes.append(_plain_size("before", verdict.before))
    if verdict.after is not None:
        sizes.append(_plain_size("after", verdict.after))
    if verdict.exceeds is not None:
        sizes.append(say("returns.beyond" if verdict.exceeds else "returns.within"))
    said = (
        say("return_paper.confirmed", by=_by_whom(verdict, sheet))
        if verdict.confirmed
        else say("return_paper.only_proposed")
    )
    why = why_text(verdict) if verdict.exceeds is None else ""
    overruled = verdict.confirmed and verdict.confirmed != verdict.proposed
    if overruled:
        why = say("return_paper.overruled", proposed=say(f"returns.verdict_{verdict.proposed}"), why=why)
    told = [("; ".join(sizes), "text"), (verdict.words, "text"), (why, "italic"), (said, "caption")]
    return [(text, face) for text, face in told if text]


def _by_whom(verdict: ReturnVerdict, sheet: ConditionSheet) -> str:
    """The person by name; who works at the bench without signing in is the examiner."""
    named = verdict.confirmed_by if verdict.confirmed_by != BENCH else ""
    return named or sheet.job.examiner or say("return_paper.examiner")


def _plain_size(code: str, one: Measurement) -> str:
    return say(f"return_paper.size_{code}", what=say(f"quantity.{one.quantity}"), size=as_text(one))


def _size(one: Measurement, press: Press) -> str:
    mark = press.type_.markup
    return mark(f"{say(f'quantity.{one.quantity}')} ") + mark(as_text(one), "semibold")


def _pictures(
    verdict: ReturnVerdict, about: FindingEntry, entry: ReturnEntry, sheet: ConditionSheet, press: Press
) -> list[Flowable]:
    """The pair the verdict rests on first; else any pair whose earlier photo bears a mark of the finding."""
    photos = _photos(sheet)
    compared = [pair for pair in entry.pairs if pair.state == "compared" and pair.before_id in photos]
    for pair in sorted(compared, key=lambda one: one.id != verdict.pair_id):
        if pair.after_id not in photos:
            continue
        before = photos[pair.before_id]
        crop = close_up_of(about, before)
        if crop is not None:
            return [picture_pair(crop, pair, before, photos[pair.after_id], press)]
    return []


def _settled(entry: ReturnEntry, press: Press, level: int) -> list[Flowable]:
    """What a declared change explains, what was put aside for which reason, and what stands in doubt on its own."""
    first = [one for one in entry.changes if not one.same_as]
    lines: list[tuple[str, str]] = []
    for declared in entry.check.declared:
        count = sum(one.declared_id == declared.id for one in first)
        what = say(f"returns.declared_{declared.what}")
        lines.append((what, say_n("return_paper.explains", count, words=declared.words or what)))
    for code in ("explained", "dismissed"):
        said = Counter(one.words for one in first if one.decision == code and one.words)
        for words, count in said.items():
            text = words if count == 1 else say_n("return_paper.so_many", count, words=words)
            lines.append((say(f"returns.decision_{code}"), text))
    grouped = {one for group in entry.doubt for one in group.change_ids}
    doubtful = [one for one in first if one.decision == "open" and one.reason and not one.touches
                and one.id not in grouped]  # fmt: skip
    if doubtful:
        reasons = sorted({say(f"compare.reason_{one.reason}") for one in doubtful})
        lines.append((say("return_paper.doubt"), say_n("return_paper.doubtful", len(doubtful), why="; ".join(reasons))))
    if not lines:
        return []
    story = _part("settled", f"settled-{entry.check.id}", press, level)
    return [*story, *(part for label, text in lines for part in press.noted(label, text, BODY))]


def _not_compared(entry: ReturnEntry, sheet: ConditionSheet, press: Press, level: int) -> list[Flowable]:
    lines = not_compared(entry, sheet)
    story = _part("not_compared", f"not-compared-{entry.check.id}", press, level)
    return [*story, *(part for label, text in lines for part in press.noted(label, text, BODY))]


def _beside(number: str, lines: list[Paragraph], pictures: list[Flowable], press: Press, ruled: bool) -> Flowable:
    def head(canvas) -> None:
        pdf_text(canvas, press.type_, 0, -14, number, 17, ACCENT, "display")

    right = PAIR_MM if pictures else 0.0
    return Beside(lines, pictures, head, left_mm=NUMBER_MM, right_mm=right, head_mm=8.0, gap_mm=5.0, ruled=ruled)


def _photos(sheet: ConditionSheet) -> dict[str, Photo]:
    return {photo.id: photo for photo in sheet.photos}

"""Parts and originality: counts that claim no more than was judged, then each part with what speaks for and against."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from reportlab.platypus import CondPageBreak, Flowable, Paragraph, Spacer

from condition.records.legend import INK, MUTED
from condition.records.originality import SIGNS, tally
from condition.records.part import CLAIM, Evidence, Part
from condition.records.reader import Withheld
from condition.records.sheet import ConditionSheet
from condition.report.drawing import MM, Path, Primitive, Stroke, Text
from condition.report.flowables import Beside, Drawn, Painted
from condition.report.pictures import fitted
from condition.report.sections import Press, day
from condition.report.styles import KIND, LABEL, NOTE, NOTES_MM, TOLD
from condition.words import say, say_n

STRIP_MM = 9.0
_LEAST_MM = 11.0
_PICTURE_MM = (34.0, 28.0)
_SPEAKS = {"for": "+", "against": "−", "neither": "·"}


def parts(sheet: ConditionSheet, press: Press) -> list[Flowable]:
    """Return the section; nothing when the job has no parts list."""
    if not sheet.parts:
        return []
    story: list[Flowable] = [CondPageBreak(90 * MM), Spacer(0, 6 * MM), press.heading("parts")]
    story += [_strip(sheet.parts, press), Spacer(0, 3 * MM)]
    story += press.noted(say("parts.counted"), summary_of(sheet.parts))
    story += press.noted(say("parts.meaning"), say("parts.meaning_text"))
    examined = [part for part in sheet.parts if not part.untouched]
    group = ""
    for part in examined:
        story.append(
            _part(part, sheet, press, overline=say(f"parts.group_{part.group}") if part.group != group else "")
        )
        group = part.group
    untouched = [part.name for part in sheet.parts if part.untouched]
    story.append(Spacer(0, 4 * MM))
    story += press.noted(say("parts.not_examined"), ", ".join(untouched))
    story += press.noted(say("parts.undisturbed"), "\n".join(_undisturbed(sheet)))
    return story


def summary_of(parts: Sequence[Part]) -> str:
    """Say how many parts were judged, and as what; those that were not stand in the same sentence."""
    judged = [part for part in parts if part.originality]
    untouched = sum(part.untouched for part in parts)
    counts = [f"{count} {say(f'parts.counted_{group[0]}')}" for group, count in tally(judged)]
    lines = [say_n("parts.judged", len(parts), judged=len(judged))]
    if counts:
        lines.append(say("parts.counts", counts=", ".join(counts)))
    if open_ := len(parts) - len(judged) - untouched:
        lines.append(say_n("parts.seen_only", open_))
    if untouched:
        lines.append(say_n("parts.untouched", untouched))
    return " ".join(lines)


def _strip(parts: Sequence[Part], press: Press) -> Flowable:
    """One bar of the whole list, each state's share with its symbol and number, its word below."""
    groups = tally(parts)
    width = press.page.measure / MM
    total = sum(count for _, count in groups)
    spare = width - _LEAST_MM * len(groups)
    drawn: list[Primitive] = []
    x = 0.0
    for group, count in groups:
        wide = _LEAST_MM + spare * count / total
        sign = SIGNS[group[0]]
        box = ((x, 0.0), (x + wide, 0.0), (x + wide, STRIP_MM), (x, STRIP_MM))
        judged = bool(group[0])
        drawn.append(
            Path(
                (box,),
                closed=True,
                fill=sign.colour if judged else None,
                stroke=Stroke(MUTED if not judged else "#FFFFFF", 0.3),
            )
        )
        ink = "#FFFFFF" if judged else INK
        drawn.append(Text(x + wide / 2, STRIP_MM / 2 + 1.2, f"{sign.symbol} {count}", 3.4, ink, "semibold", "middle"))
        word = say(f"parts.counted_{group[0]}")
        row = int(press.type_.width(word, "caption", 2.5 * MM) > wide * MM - 1.0)
        drawn.append(Text(x + 0.4, STRIP_MM + 3.6 + 3.2 * row, word, 2.5, INK))
        x += wide
    return Drawn(drawn, width, STRIP_MM + 8.0, press.type_)


def _part(part: Part, sheet: ConditionSheet, press: Press, overline: str) -> Flowable:
    type_ = press.type_
    evidence = [one for one in sheet.evidence if one.part_id == part.id]
    lines: list[Paragraph] = []
    if overline:
        lines.append(Paragraph(type_.markup(overline, "caption"), NOTE))
    sign = SIGNS[part.originality]
    word = type_.markup(f"{sign.symbol} {say(f'parts.state_{part.originality}')}", "semibold")
    state = f'<font color="{sign.colour}">{word}</font>'
    lines.append(
        Paragraph(f"{type_.markup(part.name[:1].upper() + part.name[1:], 'semibold')}&nbsp;&nbsp; {state}", KIND)
    )
    facts = " · ".join(
        filter(
            None,
            (
                _judged(part),
                _where(part, sheet),
                part.whose and say("parts.whose_is", who=part.whose),
                _material(part),
            ),
        )
    )
    if facts:
        lines.append(Paragraph(type_.markup(facts, "caption"), NOTE))
    for text, label in (
        (part.observation, ""),
        (part.condition, say("parts.condition")),
    ):
        if text:
            lines.append(_labelled(label, text, press, "text"))
    if part.interpretation:
        lines.append(_labelled(say("report.interpretation"), part.interpretation, press, "italic"))
    claims = [part.claim, *(one.words for one in evidence if one.kind == CLAIM and not _withheld(sheet, "claims"))]
    claim = "\n".join(filter(None, claims))
    names = {photo.id: photo.file_name for photo in sheet.photos}
    shown = [one for one in evidence if one.kind != CLAIM]
    for one in shown:
        lines.append(_evidence(one, names, sheet, press))
    if claim and not shown:
        lines.append(_labelled(say("parts.evidence"), say("parts.no_evidence"), press, "text"))
    if part.undisturbed:
        lines.append(_labelled(say("parts.undisturbed"), part.undisturbed_reason, press, "text"))
    said = _claim(claim, press)
    return Beside(
        lines,
        [_picture(one, sheet, press) for one in shown if one.photo_id in names][:2],
        partial(_set_down, said) if said else None,
        left_mm=NOTES_MM,
        right_mm=_PICTURE_MM[0],
        head_mm=sum(paragraph.height for paragraph in said) / MM,
        ruled=True,
    )


def _claim(claim: str, press: Press) -> list[Paragraph]:
    """What is claimed stands in the notes column, beside what is seen and the evidence."""
    if not claim:
        return []
    label = Paragraph(press.type_.markup(say("parts.claim"), "caption"), LABEL)
    words = Paragraph(press.type_.markup(claim, "italic"), TOLD)
    for paragraph in (label, words):
        paragraph.wrap((NOTES_MM - 4) * MM, 1e6)
    return [label, words]


def _set_down(paragraphs: Sequence[Paragraph], canvas) -> None:
    y = 0.0
    for paragraph in paragraphs:
        y -= paragraph.height
        paragraph.drawOn(canvas, 0, y)


def _withheld(sheet: ConditionSheet, what: Withheld) -> bool:
    return sheet.face is not None and what in sheet.face.withheld


def _judged(part: Part) -> str:
    if not part.originality:
        return ""
    sure = say(f"parts.sure_{part.sure}") if part.sure else ""
    return ", ".join(filter(None, (sure, say("parts.by", who=part.judged_by) if part.judged_by else "")))


def _where(part: Part, sheet: ConditionSheet) -> str:
    if part.place == "fitted":
        return ""
    number = next((bag.number for bag in sheet.bags if bag.id == part.bag_id), None)
    if part.place == "bag" and number is not None:
        return say("parts.in_bag", number=number)
    if part.place == "out" and part.out_to:
        return say("parts.out", who=part.out_to)
    return say(f"parts.place_{part.place}")


def _material(part: Part) -> str:
    return say(f"parts.material_{part.material_how}", what=part.material) if part.material else ""


def _evidence(one: Evidence, names: dict[str, str], sheet: ConditionSheet, press: Press) -> Paragraph:
    """One piece of evidence; a serial's own number is left out where serials are."""
    words = "" if one.kind == "serial inside" and _withheld(sheet, "serials") else one.words
    shown_by = ", ".join(filter(None, (names.get(one.photo_id or "", ""), _reading(one, sheet))))
    text = press.type_.markup(f"{_SPEAKS[one.speaks]} {say(f'parts.evidence_{one.kind}')}", "semibold")
    return Paragraph(text + press.type_.markup(f"  {words}" + (f" ({shown_by})" if shown_by else "")), TOLD)


def _reading(one: Evidence, sheet: ConditionSheet) -> str:
    """Name the reading that says it, as it was typed."""
    for pair in sheet.bench.readings:
        for reading in (pair.before, pair.after):
            if reading is not None and reading.id == one.reading_id:
                return say("parts.by_reading", what=" ".join(filter(None, (reading.place, reading.typed))))
    return ""


def _labelled(label: str, text: str, press: Press, face: str) -> Paragraph:
    muted = (
        f'<font color="{MUTED}" size="7.6">{press.type_.markup(label, "caption")}</font>&nbsp;&nbsp;' if label else ""
    )
    return Paragraph(muted + press.type_.markup(text, face), TOLD)


def _picture(one: Evidence, sheet: ConditionSheet, press: Press) -> Flowable:
    photo = next(photo for photo in sheet.photos if photo.id == one.photo_id)
    width, height = fitted(photo.width, photo.height, *_PICTURE_MM)

    def paint(canvas) -> None:
        canvas.drawImage(press.pictures.whole(photo, width), 0, -height * MM, width * MM, height * MM)

    return Painted(_PICTURE_MM[0] * MM, (height + 2) * MM, paint)


def _undisturbed(sheet: ConditionSheet) -> list[str]:
    lines = []
    for part in sheet.parts:
        if part.undisturbed:
            who = ", ".join(filter(None, (part.undisturbed_by, day(part.undisturbed_at))))
            lines.append(f"{part.name}: {part.undisturbed_reason}" + (f" ({who})" if who else ""))
    for entry in sheet.findings:
        if entry.finding.decision == "left undisturbed":
            named = say("parts.finding_named", number=entry.finding.number)
            lines.append(": ".join(filter(None, (named, entry.finding.decision_reason))))
    return lines

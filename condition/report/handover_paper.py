"""The paper that goes with an instrument changing hands: who, what, packed how, in which condition; to be signed."""

from __future__ import annotations

from reportlab.platypus import CondPageBreak, Flowable, Paragraph, Spacer

from condition.records.custody import HandoverSheet
from condition.records.handover import Packed
from condition.records.person import Person
from condition.report.drawing import MM
from condition.report.flowables import Beside
from condition.report.letter import Letter, facts, heading, letter_pdf, opening, signature_lines, tick_box
from condition.report.photo_grid import photo_grid
from condition.report.pictures import Pixels
from condition.report.sections import Press
from condition.report.styles import BODY, LEAD, Paper
from condition.trade.money import shown
from condition.words import say


def handover_pdf(sheet: HandoverSheet, *, photo_pixels: Pixels, paper: Paper = "a4") -> bytes:
    """Return the handover's paper as a PDF; the same sheet gives the same bytes.

    Parameters
    ----------
    photo_pixels : gives a photo's upright pixels, uint8 sRGB, shape (height, width, 3)
    """
    over = say(f"handover_paper.{sheet.handover.step}")
    title = say("handover_paper.document", what=over, title=sheet.instrument.title, job=sheet.job.name)
    foot = f"{sheet.job.name} · {over} · {sheet.day}"
    letter = Letter(title, f"{over} · {sheet.instrument.title}", foot, sheet.job.examiner, sheet.day)
    return letter_pdf(letter, lambda press: _story(sheet, press, over), photo_pixels, paper)


def _story(sheet: HandoverSheet, press: Press, over: str) -> list[Flowable]:
    one = sheet.handover
    story = opening(over, sheet.instrument.title, press)
    if sheet.thing:
        story += press.noted(say("handover_paper.part"), sheet.thing, LEAD)
    story += facts(_facts(sheet), press)
    story.append(Spacer(0, 3 * MM))
    if one.packed:
        story.append(heading(say("handover_paper.along"), "along", press))
        story += [_packed(item, press) for item in one.packed]
        story.append(Spacer(0, 4 * MM))
    story += press.noted(say("handover_paper.packing"), one.packing)
    story += press.noted(say("handover_paper.condition"), one.condition)
    if sheet.photos:
        story += [CondPageBreak(90 * MM), heading(say("handover_paper.photos"), "photos", press)]
        story += photo_grid(sheet.photos, press)
    names = [
        (say("handover_paper.given_by"), sheet.giver.name if sheet.giver else ""),
        (say("handover_paper.received_by"), one.signed_by or (sheet.taker.name if sheet.taker else "")),
    ]
    return [
        *story,
        CondPageBreak(75 * MM),
        heading(say("handover_paper.signed"), "signed", press),
        *press.noted("", say("handover_paper.signed_words")),
        signature_lines(names, press),
    ]


def _who(person: Person | None) -> str:
    return "\n".join(filter(None, (person.name, person.address, person.contact))) if person else ""


def _facts(sheet: HandoverSheet) -> list[tuple[str, str]]:
    one = sheet.handover
    carried = "\n".join(filter(None, (sheet.carrier.name if sheet.carrier else "", one.consignment)))
    value = shown(one.value_minor, one.currency) if one.value_minor is not None else ""
    due = "handover_paper.due" if one.step == "out" else "handover_paper.ready"
    return [
        (say("handover_paper.from"), _who(sheet.giver)),
        (say("handover_paper.to"), _who(sheet.taker)),
        (say("handover_paper.carrier"), carried),
        (say("handover_paper.day"), sheet.day),
        (say(due), one.due_on),
        (say("handover_paper.value"), value),
        (say("handover_paper.job"), sheet.job.name),
        (say("handover_paper.serial"), sheet.instrument.serial),
        (say("handover_paper.shop"), "\n".join(filter(None, (sheet.shop.name, sheet.shop.address)))),
    ]


def packed_words(item: Packed) -> str:
    kind = say(f"handover.packed_{item.kind.replace(' ', '_')}")
    count = f"{item.count} × " if item.count != 1 else ""
    return count + (f"{kind}: {item.words}" if item.words and item.kind != "other" else item.words or kind)


def _packed(item: Packed, press: Press) -> Flowable:
    words = Paragraph(press.type_.markup(packed_words(item)), BODY)

    def box(canvas) -> None:
        tick_box(canvas, 0, -4.0 * MM)

    return Beside([words], [], box, left_mm=7.0, right_mm=0.0, head_mm=6.2)

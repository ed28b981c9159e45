"""One sheet of a look before buying: what is asked, what the seller says against what was seen, five photos."""

from __future__ import annotations

from collections.abc import Mapping

from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, Paragraph, Spacer

from condition.records.buying import BeforeBuying
from condition.records.instrument import Instrument
from condition.records.job import Job
from condition.records.legend import RULE
from condition.records.photo import Photo
from condition.report.drawing import MM
from condition.report.flowables import Painted, note
from condition.report.letter import Letter, facts, letter_pdf, opening
from condition.report.pictures import Pixels, fitted
from condition.report.sections import Press, when
from condition.report.styles import BODY, NOTE, Paper
from condition.trade.money import shown
from condition.words import say

GAP_MM, TALL_MM = 5.0, 58.0


def buying_pdf(
    look: BeforeBuying,
    job: Job,
    instrument: Instrument,
    photos: Mapping[str, Photo | None],
    receipts: tuple[str, ...],
    *,
    dated: str,
    photo_pixels: Pixels,
    paper: Paper = "a4",
) -> bytes:
    """Return the sheet as a PDF; the same look always gives the same bytes.

    Parameters
    ----------
    photos : the photo of each place, None where there is none; a missing one is told on the sheet
    """
    title = say("buying.document", title=instrument.title)
    letter = Letter(title, instrument.title, f"{job.name} · {dated}", job.examiner, dated)

    def story(press: Press) -> list[Flowable]:
        asking = shown(look.asking_minor, look.currency) if look.asking_minor is not None else say("buying.not_told")
        family = "" if instrument.family == "other" else instrument.family
        decision = say(f"buying.decision_{look.decision.replace(' ', '_')}") if look.decision else ""
        return [
            *opening(say("buying.overline"), instrument.title, press),
            *facts(
                [
                    (say("buying.asking"), asking),
                    (say("buying.seller"), "\n".join(filter(None, (look.seller, look.seller_contact)))),
                    (say("buying.looked_at"), dated),
                    (say("buying.serial"), instrument.serial),
                    (say("buying.family"), family),
                    (say("buying.receipt"), ", ".join(receipts)),
                ],
                press,
            ),
            *_claims(look, press),
            *press.noted(say("buying.worries"), look.worries),
            *press.noted(say("buying.decided"), ": ".join(filter(None, (decision, look.decision_reason)))),
            Spacer(0, 3 * MM),
            *_pictures(photos, press),
            Paragraph(press.type_.markup(say("buying.proves_not"), "caption"), NOTE),
        ]

    return letter_pdf(letter, story, photo_pixels, paper)


def _claims(look: BeforeBuying, press: Press) -> list[Flowable]:
    """The seller's claims one by one, each with room for what the bench finds."""
    if not look.claims:
        return []
    wide = 0.62 * press.page.measure
    texts = [Paragraph(press.type_.markup(claim, "italic"), BODY) for claim in look.claims]
    heights = [text.wrap(wide - 4 * MM, 1e6)[1] + 2.4 * MM for text in texts]
    head, seen = note(say("buying.claims"), press.type_), note(say("buying.seen"), press.type_)

    def paint(canvas: Canvas) -> None:
        for item, x in ((head, 0.0), (seen, wide)):
            _, tall = item.wrap(wide, 1e6)
            item.drawOn(canvas, x, -tall)
        y = -6.5 * MM
        canvas.setStrokeColor(RULE)
        canvas.setLineWidth(0.4)
        canvas.setDash([])
        for text, tall in zip(texts, heights, strict=True):
            canvas.line(0, y, press.page.measure, y)
            text.drawOn(canvas, 0, y - tall + 1.2 * MM)
            y -= tall
        canvas.line(0, y, press.page.measure, y)
        canvas.line(wide - 2 * MM, -6.5 * MM, wide - 2 * MM, y)

    return [Painted(press.page.measure, 6.5 * MM + sum(heights), paint), Spacer(0, 4 * MM)]


def _pictures(photos: Mapping[str, Photo | None], press: Press) -> list[Flowable]:
    across = 3
    each = (press.page.measure / MM - (across - 1) * GAP_MM) / across
    named = list(photos.items())
    story: list[Flowable] = []
    for row in range(0, len(named), across):
        story += [_row(named[row : row + across], each, press), Spacer(0, 4 * MM)]
    return story


def _row(cells: list[tuple[str, Photo | None]], each: float, press: Press) -> Flowable:
    sizes = [fitted(photo.width, photo.height, each, TALL_MM) if photo else (each, 20.0) for _, photo in cells]
    words = [
        Paragraph(
            press.type_.markup(
                "\n".join(filter(None, (name, when(photo) if photo else say("buying.no_photo")))), "caption"
            ),
            NOTE,
        )
        for name, photo in cells
    ]
    tall = max(height for _, height in sizes)
    below = max(text.wrap(each * MM, 1e6)[1] for text in words)

    def paint(canvas: Canvas) -> None:
        for k, ((_, photo), (width, height), text) in enumerate(zip(cells, sizes, words, strict=True)):
            x = k * (each + GAP_MM) * MM
            if photo:
                canvas.drawImage(press.pictures.whole(photo, width), x, -height * MM, width * MM, height * MM)
            else:
                canvas.setStrokeColor(RULE)
                canvas.setDash([2, 2])
                canvas.rect(x, -height * MM, width * MM, height * MM)
                canvas.setDash([])
            text.drawOn(canvas, x, -height * MM - 1.6 * MM - text.height)

    return Painted(press.page.measure, tall * MM + 1.6 * MM + below, paint)

"""The estimate on paper: what is done and why, how much of it, what it comes to, and room for the client's answer."""

from __future__ import annotations

from collections.abc import Mapping

from reportlab.lib.enums import TA_RIGHT
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import CondPageBreak, Flowable, Paragraph, Spacer

from condition.records.estimate import Answer, EstimateSheet, SheetLine
from condition.records.legend import ACCENT, INK, MUTED
from condition.report.drawing import MM, pdf_text
from condition.report.flowables import Painted
from condition.report.letter import Letter, Row, facts, heading, letter_pdf, opening, signature_lines, tick_box
from condition.report.map_legend import shortened
from condition.report.sections import Press
from condition.report.styles import BODY, KIND, LEAD, NOTE, TOLD, Paper
from condition.trade.figures import quantity_text, rate_text
from condition.trade.money import shown
from condition.words import say, say_n

_NUMBER, _WORDS, _MUCH, _AMOUNT = (0.0, 8.0), (9.0, 87.0), (98.0, 38.0), (136.0, 30.0)
"""Left edge and width of the columns, in mm on a text block of 166 mm."""

RIGHT = ParagraphStyle("right", parent=BODY, alignment=TA_RIGHT)
RIGHT_NOTE = ParagraphStyle("right-note", parent=NOTE, alignment=TA_RIGHT)
RIGHT_SUM = ParagraphStyle("right-sum", parent=KIND, alignment=TA_RIGHT, spaceAfter=0)
_SUM = ParagraphStyle("sum", parent=KIND, spaceAfter=0)


def estimate_pdf(
    sheet: EstimateSheet, *, sha256: str = "", answers: Mapping[str, Answer] | None = None, paper: Paper = "a4"
) -> bytes:
    """Return the estimate as a PDF; the same sheet gives the same bytes.

    Parameters
    ----------
    sha256 : of the sheet as it was sent, printed on it; empty for one that was not sent, which says so on its face
    answers : the client's word by line id, ticked in the boxes; without them the boxes stay empty
    """
    kind = say("estimate_paper.quote" if sheet.binding else "estimate_paper.estimate")
    name = say("estimate_paper.document", kind=kind, number=sheet.number, title=sheet.instrument)
    foot = f"{kind} {sheet.number} · {sheet.dated}"
    letter = Letter(name, f"{kind} · {sheet.instrument}", foot, sheet.examiner, sheet.dated)
    return letter_pdf(letter, lambda press: _story(sheet, press, kind, sha256, answers or {}), _no_photos, paper)


def _no_photos(photo: object) -> object:
    raise LookupError("an estimate shows no photos")


def _story(sheet: EstimateSheet, press: Press, kind: str, sha256: str, answers: Mapping[str, Answer]) -> list[Flowable]:
    over = kind if sha256 else f"{kind} · {say('estimate_paper.draft')}"
    story = opening(over, sheet.instrument, press)
    story += facts(_facts(sheet), press)
    story.append(Spacer(0, 3 * MM))
    story += press.noted("", sheet.intro, LEAD)
    story.append(heading(say("estimate_paper.work"), "work", press))
    story += _lines(sheet, press)
    story += _totals(sheet, press)
    story += _scope(sheet, press)
    story += _conditions(sheet, press, sha256)
    if sheet.client_name:
        story += _answer(sheet, press, answers)
    return story


def _facts(sheet: EstimateSheet) -> list[tuple[str, str]]:
    def block(*lines: str) -> str:
        return "\n".join(filter(None, lines))

    return [
        (say("estimate_paper.from"), block(sheet.shop_name, sheet.shop_address, sheet.shop_contact)),
        (say("estimate_paper.for"), block(sheet.client_name, sheet.client_address, sheet.client_contact)),
        (
            say("estimate_paper.number"),
            block(sheet.number, say("estimate_paper.edition", edition=sheet.edition), sheet.examiner),
        ),
        (say("estimate_paper.dated"), sheet.dated),
        (say("estimate_paper.valid"), sheet.valid_until),
        (say("estimate_paper.serial"), sheet.serial),
    ]


def _lines(sheet: EstimateSheet, press: Press) -> list[Flowable]:
    story: list[Flowable] = []
    group = ""
    for number, line in enumerate(sheet.lines, 1):
        if line.option_group and line.option_group != group:
            text = press.type_.markup(say("estimate_paper.one_of", group=line.option_group), "italic")
            story += [Spacer(0, 2 * MM), Paragraph(text, TOLD)]
        group = line.option_group
        story += _line(number, line, sheet, press)
    return story


def _line(number: int, line: SheetLine, sheet: EstimateSheet, press: Press) -> list[Flowable]:
    mark = press.type_.markup
    amount = shown(line.net, sheet.currency)
    cells = [
        (Paragraph(mark(str(number), "semibold"), BODY), *_NUMBER),
        (Paragraph(mark(line.words, "semibold"), BODY), *_WORDS),
        (Paragraph(mark(_much(line, sheet)), RIGHT_NOTE), *_MUCH),
        (Paragraph(mark(amount if line.counted else f"({amount})"), RIGHT), *_AMOUNT),
    ]
    story: list[Flowable] = [Row(cells, 1, ruled=True, before_mm=2.0)]
    for text, face in _told(line, sheet):
        story.append(Row([(Paragraph(mark(text, face), NOTE), *_WORDS)], 0))
    return story


def _much(line: SheetLine, sheet: EstimateSheet) -> str:
    if line.unit == "fixed" and line.quantity == 1:
        return say("money.per_fixed")
    unit = say_n(f"money.unit_{line.unit}", 1 if line.quantity == 1 else 2)
    return f"{quantity_text(line.quantity)} {unit} × {rate_text(line.rate)}"


def _told(line: SheetLine, sheet: EstimateSheet) -> list[tuple[str, str]]:
    said = []
    if line.finding and line.measured:
        said.append((say("estimate_paper.measured", number=line.finding, measured=line.measured), "caption"))
    elif line.finding:
        said.append((say("estimate_paper.finding", number=line.finding), "caption"))
    if line.why:
        said.append((line.why, "italic"))
    if line.at_minimum:
        said.append((say("estimate_paper.minimum", amount=shown(line.minimum, sheet.currency)), "caption"))
    if line.materials:
        words = line.materials_words or say("estimate_paper.materials_plain")
        text = say("estimate_paper.materials", what=words, amount=shown(line.materials, sheet.currency))
        said.append((text, "caption"))
    if line.outside:
        code = "estimate_paper.outside_by" if line.outside_who else "estimate_paper.outside"
        said.append((say(code, who=line.outside_who), "caption"))
    if line.optional:
        said.append((say("estimate_paper.optional"), "caption"))
    if line.option_group:
        said.append((say("estimate_paper.proposed" if line.chosen else "estimate_paper.other_option"), "caption"))
    if not line.taxed and sheet.tax_percent:
        said.append((say("estimate_paper.untaxed", tax=_tax_name(sheet)), "caption"))
    return said


def _tax_name(sheet: EstimateSheet) -> str:
    return sheet.tax_name or say("estimate_paper.tax")


def _totals(sheet: EstimateSheet, press: Press) -> list[Flowable]:
    sums, mark = sheet.totals, press.type_.markup

    def row(label: str, minor: int, *, strong: bool = False, ruled: bool = False) -> Row:
        style, amount, face = (_SUM, RIGHT_SUM, "semibold") if strong else (BODY, RIGHT, "text")
        cells = [
            (Paragraph(mark(label, face), style), 62.0, 66.0),
            (Paragraph(mark(shown(minor, sheet.currency), face), amount), 128.0, 38.0),
        ]
        return Row(cells, 0, ruled=ruled, strong=strong and ruled)

    rows = [row(say("estimate_paper.net"), sums.net, ruled=True)]
    if sums.discount:
        percent = f"{quantity_text(sheet.discount_percent)} %" if sheet.discount_percent else ""
        words = sheet.discount_words or say("estimate_paper.discount")
        rows.append(row(" ".join(filter(None, (words, percent))), -sums.discount))
    if sheet.tax_percent:
        rows.append(row(f"{_tax_name(sheet)} {quantity_text(sheet.tax_percent)} %", sums.tax))
    rows.append(row(say("estimate_paper.gross"), sums.gross, strong=True, ruled=True))
    if sums.deposit:
        label = say("estimate_paper.deposit", percent=quantity_text(sheet.deposit_percent))
        rows += [row(label, sums.deposit), row(say("estimate_paper.balance"), sums.balance)]
    return [CondPageBreak(45 * MM), Spacer(0, 5 * MM), *rows, Spacer(0, 8 * MM)]


def _scope(sheet: EstimateSheet, press: Press) -> list[Flowable]:
    out = "\n".join(f"– {line}" for line in sheet.not_included)
    return [
        *press.noted(say("estimate_paper.in"), sheet.included),
        *press.noted(say("estimate_paper.out"), out),
    ]


def _conditions(sheet: EstimateSheet, press: Press, sha256: str) -> list[Flowable]:
    stop = ""
    if sheet.stop_above:
        stop = say("estimate_paper.stop_above", amount=shown(sheet.stop_above, sheet.currency))
    rule = say(
        "money.rule",
        rounding=say(f"money.rounding_{sheet.rounding.replace(' ', '_')}"),
        currency=sheet.currency,
        tax_on=say(f"money.tax_on_{sheet.tax_on}"),
    )
    what = say("estimate_paper.binds" if sheet.binding else "estimate_paper.forecasts", until=sheet.valid_until)
    return [
        *press.noted(say("estimate_paper.what_it_is"), what),
        *press.noted(say("estimate_paper.hidden"), stop or say("estimate_paper.stop")),
        *press.noted(say("estimate_paper.lead_time"), sheet.lead_time),
        *press.noted(say("estimate_paper.terms"), sheet.terms),
        *press.noted(say("estimate_paper.rounding"), rule),
        *(press.noted(say("estimate_paper.kept"), say("estimate_paper.sha", sha256=sha256)) if sha256 else []),
    ]


def _answer(sheet: EstimateSheet, press: Press, answers: Mapping[str, Answer]) -> list[Flowable]:
    story: list[Flowable] = [CondPageBreak(80 * MM), heading(say("estimate_paper.answer"), "answer", press)]
    story += press.noted("", say("estimate_paper.answer_how"))
    for number, line in enumerate(sheet.lines, 1):
        story.append(_boxes(number, line, press, answers.get(line.id, "")))
    return [*story, CondPageBreak(50 * MM), signature_lines([(say("estimate_paper.signed"), sheet.client_name)], press)]


def _boxes(number: int, line: SheetLine, press: Press, said: Answer) -> Flowable:
    wide = press.page.measure - 72 * MM
    words = shortened(f"{number}  {line.words}", wide / MM, BODY.fontSize / MM, "text", press.type_)

    def paint(canvas) -> None:
        pdf_text(canvas, press.type_, 0, -3.8 * MM, words, BODY.fontSize, INK, "text")
        for k, answer in enumerate(("accepted", "declined", "asked")):
            x = press.page.measure - (66, 47, 30)[k] * MM
            tick_box(canvas, x, -4.2 * MM)
            if said == answer:
                canvas.setStrokeColor(ACCENT)
                canvas.setLineWidth(1.1)
                canvas.line(x + 0.6 * MM, -2.6 * MM, x + 1.4 * MM, -3.6 * MM)
                canvas.line(x + 1.4 * MM, -3.6 * MM, x + 2.8 * MM, -1.4 * MM)
            ink = INK if said == answer else MUTED
            label = say(f"estimate_paper.{answer}")
            pdf_text(canvas, press.type_, x + 4.4 * MM, -3.8 * MM, label, 8, ink, "caption")

    return Painted(press.page.measure, 7.2 * MM, paint)

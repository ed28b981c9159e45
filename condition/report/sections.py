"""The report's sections, each a function from the sheet to what is set."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from reportlab.platypus import CondPageBreak, Flowable, PageBreak, Paragraph, Spacer

from condition.records.photo import Photo
from condition.records.sheet import ConditionSheet
from condition.report.drawing import MM
from condition.report.flowables import Heading, Painted, note, noted
from condition.report.fonts import Typesetter, described
from condition.report.pictures import Pictures, fitted
from condition.report.styles import BODY, CLAIM, FACT, ITALIC, LEAD, NOTE, OVERLINE, QUOTE, TITLE, Page
from condition.words import say, say_n


@dataclass(frozen=True)
class Press:
    """What every section sets with."""

    page: Page
    type_: Typesetter
    pictures: Pictures

    def noted(self, label: str, text: str, style=BODY, face: str = "text") -> list[Flowable]:
        """Return a text with its label in the notes column; nothing for an empty text."""
        paragraphs = [part for part in text.split("\n\n") if part.strip()]
        return [
            item
            for k, part in enumerate(paragraphs)
            for item in (
                noted(self.type_.markup(part, face), style, note(label, self.type_) if k == 0 else None),
                Spacer(0, 2.4 * MM),
            )
        ]

    def heading(self, code: str, overline: str = "") -> Heading:
        return Heading(say(f"report.{code}"), self.type_, code, overline)


_TWO_COLUMNS_MM = 80.0

Section = Callable[[ConditionSheet, Press], list[Flowable]]


def day(utc: str) -> str:
    """Return the date of a UTC time, such as ``2026-01-02``."""
    return utc[:10]


def title(sheet: ConditionSheet, press: Press) -> list[Flowable]:
    """What it is, who, when, the request."""
    job, instrument, mark = sheet.job, sheet.instrument, press.type_.markup
    overline = say(f"reader.overline_{sheet.face.reader}") if sheet.face else say("report.overline")
    story: list[Flowable] = [
        Paragraph(mark(overline, "caption"), OVERLINE),
        Spacer(0, 2 * MM),
        Paragraph(mark(instrument.title or job.name, "display"), TITLE),
    ]
    claimed = " · ".join(filter(None, (instrument.claimed_maker, instrument.claimed_model, instrument.claimed_year)))
    if claimed:
        story += [Spacer(0, 2.5 * MM), Paragraph(mark(say("report.claimed", what=claimed), "italic"), CLAIM)]
    story += [Spacer(0, 6 * MM), _hero(sheet, press), Spacer(0, 7 * MM)]
    if sheet.face and sheet.face.withheld:
        left_out = ", ".join(say(f"reader.withheld_{one.replace(' ', '_')}") for one in sheet.face.withheld)
        story += press.noted(
            say("reader.left_out_heading"), say("reader.left_out_words", what=left_out), ITALIC, "italic"
        )
    request = job.request
    if job.request_items:
        request = "\n".join(filter(None, (request, *(f"– {item}" for item in job.request_items))))
    story += press.noted(say("report.request"), request, QUOTE, "italic")
    story += press.noted(say("report.reason"), job.reason)
    story += press.noted(say("report.summary"), job.summary, LEAD)
    story += press.noted(say("report.description"), instrument.description)
    story += press.noted(say("report.materials"), instrument.materials)
    story += press.noted(say("report.light_and_aids"), job.light_and_aids)
    return story


def _hero(sheet: ConditionSheet, press: Press) -> Flowable:
    photo = _portrait(sheet)
    facts = _facts(sheet)
    width = height = 0.0
    if photo:
        width, height = fitted(photo.width, photo.height, 0.62 * press.page.measure / MM, 88.0)
    beside = press.page.measure - (width + 8 if photo else 0) * MM
    columns = 2 if beside > _TWO_COLUMNS_MM * MM else 1
    wide = (beside - (columns - 1) * 6 * MM) / columns
    blocks = [_labelled(label, value, wide, press) for label, value in facts if value]
    share = sum(tall for _, tall in blocks) / columns
    placed, column, y, lowest = [], 0, 0.0, 0.0
    for items, tall in blocks:
        if column + 1 < columns and y + tall / 2 > share:
            column, y = column + 1, 0.0
        placed += [(item, column, y + down) for item, down in items]
        y += tall
        lowest = max(lowest, y)

    def paint(canvas) -> None:
        if photo:
            canvas.drawImage(press.pictures.whole(photo, width), 0, -height * MM, width * MM, height * MM)
        for item, column, y in placed:
            x = press.page.measure - beside + column * (wide + 6 * MM)
            item.drawOn(canvas, x, -y - item.height)

    return Painted(press.page.measure, max(height * MM, lowest), paint)


def _labelled(label: str, value: str, width: float, press: Press) -> tuple[list[tuple[Paragraph, float]], float]:
    """Return a label with its value below it, each with its distance from the top, and the height of both."""
    items, tall = [], 0.0
    for item in (note(label, press.type_), Paragraph(press.type_.markup(value), BODY)):
        items.append((item, tall))
        tall += item.wrap(width, 1e6)[1]
    return items, tall + 2.6 * MM


def _portrait(sheet: ConditionSheet) -> Photo | None:
    """The photo that shows the instrument best: the base photo of the first view, or the first photo."""
    photos = {photo.id: photo for photo in sheet.photos}
    bases = [photos[entry.view.base_photo_id] for entry in sheet.views if entry.view.base_photo_id in photos]
    return next(iter([*bases, *sheet.photos]), None)


def _facts(sheet: ConditionSheet) -> list[tuple[str, str]]:
    job, instrument, client = sheet.job, sheet.instrument, sheet.client
    whose = say("report.own_stock") if job.own_stock else ""
    if client:
        whose = "\n".join(filter(None, (client.name, client.address)))
    length = f"{instrument.string_length_mm:g} mm" if instrument.string_length_mm else ""
    family = "" if instrument.family == "other" else instrument.family
    strung_for = say("report.strung_left") if instrument.handedness == "left" else ""
    counted = [say_n("report.n_findings", len(sheet.findings)), say_n("report.n_photos", len(sheet.photos))]
    return [
        (say("report.job"), job.name),
        (say("report.family"), family),
        (say("report.serial"), instrument.serial),
        (say("report.string_length"), length),
        (say("report.strung_for"), strung_for),
        (say("report.owner"), instrument.owner if not client or instrument.owner != client.name else ""),
        (say("report.client"), whose),
        (say("report.examiner"), job.examiner),
        (say("report.taken_in"), day(job.opened_at)),
        (say("report.compiled"), day(sheet.compiled_at)),
        (say("report.holds"), "\n".join(counted)),
    ]


def photos(sheet: ConditionSheet, press: Press) -> list[Flowable]:
    """Every photo upright, with caption, when it was taken and the start of its hash."""
    if not sheet.photos:
        return []
    story: list[Flowable] = [PageBreak(), press.heading("photos")]
    views = {entry.view.id: entry.view.name for entry in sheet.views}
    gap = 7.0
    each = (press.page.measure / MM - gap) / 2
    row: list[tuple[Photo, float, float]] = []
    for photo in sheet.photos:
        width, height = fitted(photo.width, photo.height, each, 84.0)
        row.append((photo, width, height))
        if len(row) == 2:
            story += [_photo_row(row, each, gap, views, press), Spacer(0, 6 * MM)]
            row = []
    if row:
        story.append(_photo_row(row, each, gap, views, press))
    return story


def _photo_row(row: list, each: float, gap: float, views: dict[str, str], press: Press) -> Flowable:
    words = []
    for photo, _, _ in row:
        caption = photo.caption or views.get(photo.view_id or "", "")
        lines = [Paragraph(press.type_.markup(caption), BODY)] if caption else []
        facts = _photo_facts(photo)
        words.append([*lines, Paragraph(press.type_.markup(facts, "caption"), NOTE)])
    heights = [sum(p.wrap(each * MM, 1e6)[1] for p in column) for column in words]
    picture = max(height for _, _, height in row)

    def paint(canvas) -> None:
        for k, (photo, width, height) in enumerate(row):
            x = k * (each + gap) * MM
            canvas.drawImage(press.pictures.whole(photo, width), x, -picture * MM, width * MM, height * MM)
            y = -(picture + 2.2) * MM
            for paragraph in words[k]:
                y -= paragraph.height
                paragraph.drawOn(canvas, x, y)

    return Painted(press.page.measure, (picture + 2.2) * MM + max(heights), paint)


def _photo_facts(photo: Photo) -> str:
    if not photo.sha256:
        return light(photo)
    taken = say("report.taken", when=when(photo)) if photo.taken else say("report.taken_unknown")
    return f"{photo.file_name}\n{taken} · {light(photo)}\nSHA-256 {photo.sha256[:12]}…"


def when(photo: Photo) -> str:
    """Return when the camera says the photo was taken, with its zone when it said one."""
    return f"{photo.taken} {photo.taken_offset}".strip()


def light(photo: Photo) -> str:
    return say(f"report.light_{photo.light}")


def hashes(sheet: ConditionSheet, press: Press) -> list[Flowable]:
    """Every photo's full SHA-256, so that the files can be told to be the ones shown."""
    if not any(photo.sha256 for photo in sheet.photos):
        return []
    story: list[Flowable] = [CondPageBreak(60 * MM), Spacer(0, 6 * MM), press.heading("hashes")]
    story += press.noted("", say("report.hashes_why"))
    for photo in sheet.photos:
        size = f"{photo.width} × {photo.height} px"
        if photo.byte_count:
            size += f" · {photo.byte_count:,} B".replace(",", "\u00a0")
        story += [
            noted(press.type_.markup(f"{photo.file_name}\n{photo.sha256}", "caption"), FACT, note(size, press.type_)),
            Spacer(0, 1.6 * MM),
        ]
    return story


def limits(sheet: ConditionSheet, press: Press) -> list[Flowable]:
    """What was not examined, could not be measured, or stands in doubt."""
    numbered = [(entry.finding.number, entry) for entry in sheet.findings]
    doubtful = ", ".join(str(n) for n, entry in numbered if entry.finding.state == "doubtful")
    bare = ", ".join(str(n) for n, entry in numbered if not entry.marks)
    without = ", ".join(photo.file_name for photo in sheet.photos if photo.plane is None)
    body = [
        *press.noted(say("report.not_examined"), sheet.job.not_examined),
        *press.noted(
            say("report.in_doubt"),
            say_n("report.in_doubt_text", doubtful.count(",") + 1, numbers=doubtful) if doubtful else "",
        ),
        *press.noted(
            say("report.not_on_map"), say_n("report.not_on_map_text", bare.count(",") + 1, numbers=bare) if bare else ""
        ),
        *press.noted(say("report.no_scale"), say("report.no_scale_text", files=without) if without else ""),
        *press.noted(say("report.what_it_is"), say("report.what_it_is_text")),
    ]
    return [CondPageBreak(60 * MM), Spacer(0, 6 * MM), press.heading("limits"), *body]


def missing_characters(press: Press) -> list[Flowable]:
    """Name every character that no font of the report has."""
    if not press.type_.missing:
        return []
    listed = ", ".join(described(character) for character in sorted(press.type_.missing)[:40])
    return press.noted(say("report.missing_characters"), say("report.missing_characters_text", listed=listed), ITALIC)


def signatures(sheet: ConditionSheet, press: Press) -> list[Flowable]:
    """Room to sign: who examined, and who receives it."""
    names = [(say("report.signed_examiner"), sheet.job.examiner)]
    if not sheet.job.own_stock:
        names.append((say("report.signed_client"), sheet.client.name if sheet.client else ""))
    gap = 10 * MM
    each = (press.page.measure - gap) / 2
    texts = [(note(label, press.type_), Paragraph(press.type_.markup(name or "\u00a0"), BODY)) for label, name in names]
    place = note(say("report.signed_where"), press.type_)

    def paint(canvas) -> None:
        for k, (label, name) in enumerate(texts):
            x = k * (each + gap)
            canvas.setLineWidth(0.4)
            canvas.setStrokeColor("#1D2628")
            canvas.line(x, -18 * MM, x + each, -18 * MM)
            canvas.line(x, -36 * MM, x + each, -36 * MM)
            for item, y in ((label, -19), (name, -23), (place, -37)):
                item.wrap(each, 40 * MM)
                item.drawOn(canvas, x, y * MM - item.height)

    heading = press.heading("signatures")
    return [CondPageBreak(75 * MM), Spacer(0, 6 * MM), heading, Painted(press.page.measure, 44 * MM, paint)]

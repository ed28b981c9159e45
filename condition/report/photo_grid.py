"""Photos of a moment in rows of three, each with its caption and the start of its hash."""

from __future__ import annotations

from reportlab.platypus import Flowable, Paragraph, Spacer

from condition.records.photo import Photo
from condition.report.drawing import MM
from condition.report.flowables import Painted
from condition.report.pictures import fitted
from condition.report.sections import Press, when
from condition.report.styles import NOTE

ACROSS, GAP_MM, MOST_MM = 3, 5.0, 60.0


def photo_grid(photos: tuple[Photo, ...], press: Press) -> list[Flowable]:
    """Return the photos, each upright and whole."""
    story: list[Flowable] = []
    for row in range(0, len(photos), ACROSS):
        story += [_row(photos[row : row + ACROSS], press), Spacer(0, 4 * MM)]
    return story


def _row(photos: tuple[Photo, ...], press: Press) -> Flowable:
    each = (press.page.measure / MM - (ACROSS - 1) * GAP_MM) / ACROSS
    sizes = [fitted(photo.width, photo.height, each, MOST_MM) for photo in photos]
    words = []
    for photo in photos:
        lines = "\n".join(
            filter(None, (photo.caption or photo.file_name, when(photo), f"SHA-256 {photo.sha256[:12]}…"))
        )
        words.append(Paragraph(press.type_.markup(lines, "caption"), NOTE))
    tall = max(height for _, height in sizes)
    below = max(text.wrap(each * MM, 1e6)[1] for text in words)

    def paint(canvas) -> None:
        for k, (photo, (width, height), text) in enumerate(zip(photos, sizes, words, strict=True)):
            x = k * (each + GAP_MM) * MM
            picture = press.pictures.whole(photo, width)
            canvas.drawImage(picture, x, -height * MM, width * MM, height * MM)
            text.drawOn(canvas, x, -height * MM - 1.6 * MM - text.height)

    return Painted(press.page.measure, tall * MM + 1.6 * MM + below, paint)

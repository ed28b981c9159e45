"""A place before and after: two pictures of one crop and one scale, with a scale bar."""

from __future__ import annotations

from dataclasses import replace

from reportlab.platypus import Flowable, Paragraph

from condition.records.finding import Finding
from condition.records.mark import Mark
from condition.records.photo import Photo
from condition.records.return_check import ReturnPair
from condition.records.shapes import Ring
from condition.records.sheet import FindingEntry, MeasuredMark
from condition.report.closeup import CloseUp, close_ups, draw_close_up
from condition.report.drawing import MM, draw_on
from condition.report.flowables import Painted
from condition.report.sections import Press
from condition.report.styles import NOTE
from condition.words import say

EACH_MM, GAP_MM = 44.0, 3.0
PAIR_MM = 2 * EACH_MM + GAP_MM
_ASPECT = 0.78


def close_up_of(entry: FindingEntry, before: Photo) -> CloseUp | None:
    """Return the crop that shows a finding's marks on the earlier photo, None when it has none there."""
    marks = tuple(one for one in entry.marks if one.mark.photo_id == before.id)
    return next(iter(close_ups(replace(entry, marks=marks), (before,), _ASPECT, 1)), None)


def close_up_round(ring_px: Ring, before: Photo, finding: Finding | None = None) -> CloseUp:
    """Return the crop that shows a ring on the earlier photo."""
    about = finding or Finding("", "", 1, "other")
    entry = FindingEntry(about, (MeasuredMark(Mark("", before.id, None, ring_px)),))
    return close_ups(entry, (before,), _ASPECT, 1)[0]


def picture_pair(crop: CloseUp, pair: ReturnPair, before: Photo, after: Photo, press: Press) -> Flowable:
    """Return both pictures beside each other; the later one in the earlier one's frame and light."""
    height = EACH_MM * crop.height_px / crop.width_px
    below = 4.4 if crop.mm_per_px else 0.0
    words = []
    for code, photo in (("before", before), ("after", after)):
        text = Paragraph(press.type_.markup(f"{say(f'return_paper.{code}')} · {photo.file_name}", "caption"), NOTE)
        text.wrap(EACH_MM * MM, 40 * MM)
        words.append(text)
    overlay = draw_close_up(crop, EACH_MM)

    def paint(canvas) -> None:
        later = press.pictures.laid(after, pair.homography, pair.tone, crop.box_px, EACH_MM)
        canvas.drawImage(press.pictures.crop(before, crop.box_px, EACH_MM), 0, -height * MM, EACH_MM * MM, height * MM)
        canvas.drawImage(later, (EACH_MM + GAP_MM) * MM, -height * MM, EACH_MM * MM, height * MM)
        canvas.saveState()
        frame = canvas.beginPath()
        frame.rect(0, -(height + below) * MM, EACH_MM * MM, (height + below) * MM)
        canvas.clipPath(frame, stroke=0, fill=0)
        draw_on(canvas, overlay, press.type_)
        canvas.restoreState()
        for k, text in enumerate(words):
            text.drawOn(canvas, k * (EACH_MM + GAP_MM) * MM, -(height + below + 0.6) * MM - text.height)

    tall = max(text.height for text in words)
    return Painted(PAIR_MM * MM, (height + below + 2.6) * MM + tall, paint)

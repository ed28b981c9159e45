"""Map sheets as pages: heading, map, legend and the facts every sheet carries."""

from __future__ import annotations

from reportlab.platypus import Flowable, PageBreak

from condition.records.sheet import ConditionSheet
from condition.report.drawing import MM, draw_on
from condition.report.flowables import Heading, Painted
from condition.report.map import draw_map, most_findings
from condition.report.map_legend import Fact, draw_facts, draw_legend, facts_height, legend_height
from condition.report.map_plan import MapSheet, plan
from condition.report.sections import Press, day, light
from condition.words import say

HEADING_MM = 21.0
_LEGEND_ROOM_MM = 100.0
"""For the legend of all kinds at once, and the facts below it."""


def maps(sheet: ConditionSheet, press: Press) -> list[Flowable]:
    """Return one page a map sheet."""
    most = most_findings(press.page.depth / MM - HEADING_MM - _LEGEND_ROOM_MM)
    sheets = plan(sheet, most)
    story: list[Flowable] = []
    for number, one in enumerate(sheets, 1):
        name = _name(one)
        part = say("map.part", part=one.part, parts=one.parts) if one.parts > 1 else ""
        title = " ".join(filter(None, (name[:1].upper() + name[1:], part)))
        overline = say(
            "map.overline" if one.outline_mm else "map.overline_photo", file=one.photo.file_name if one.photo else ""
        )
        story += [
            PageBreak(),
            Heading(title, press.type_, f"map-{number}", overline),
            _page(one, sheet, press, say("map.n_of_m", number=number, total=len(sheets))),
        ]
    return story


def _name(one: MapSheet) -> str:
    """What a sheet shows: its face, or in a photo's own words when it is not the face's base photo."""
    if one.view and (one.outline_mm or one.photo.id == one.view.base_photo_id):
        return one.view.name
    return one.photo.caption or one.photo.file_name


def _page(one: MapSheet, sheet: ConditionSheet, press: Press, number: str) -> Flowable:
    width = press.page.measure / MM
    depth = press.page.depth / MM - HEADING_MM
    legend = draw_legend(one.placed, width, press.type_)
    legend_mm = legend_height(one.placed, width, press.type_)
    room = depth - legend_mm - 24.0
    drawing = draw_map(one, width, room)
    facts = _facts(one, sheet, number, drawing.ratio)
    facts_mm = facts_height(facts)

    def paint(canvas) -> None:
        if drawing.photo_box:
            x, y, w, h = (value * MM for value in drawing.photo_box)
            canvas.drawImage(press.pictures.whole(one.photo, drawing.photo_box[2], faint=True), x, -y - h, w, h)
        draw_on(canvas, drawing.primitives, press.type_)
        canvas.translate(0, -(depth - facts_mm - legend_mm - 3.0) * MM)
        draw_on(canvas, legend, press.type_)
        canvas.translate(0, -(legend_mm + 2.0) * MM)
        draw_on(canvas, draw_facts(facts, width, press.type_), press.type_)

    return Painted(press.page.measure, depth * MM - 1, paint)


def _facts(one: MapSheet, sheet: ConditionSheet, number: str, ratio: float | None) -> list[Fact]:
    photo = one.photo
    scale = say("map.ratio", ratio=f"{ratio:g}") if ratio else say("map.see_bar" if photo.plane else "map.no_scale")
    base = f"{photo.file_name} ({photo.sha256[:8]})" if photo else "–"
    return [
        (say("map.object"), f"{sheet.job.name} · {sheet.instrument.title}", 2),
        (say("map.face"), one.view.name if one.view else "–", 1),
        (say("map.scale"), scale, 1),
        (say("map.sheet"), number, 1),
        (say("map.base"), base, 2),
        (say("map.light"), light(photo) if photo else "–", 1),
        (say("map.date"), day(sheet.compiled_at), 1),
        (say("map.examiner"), sheet.job.examiner or "–", 1),
        *_others(one),
    ]


def _others(one: MapSheet) -> list[Fact]:
    """The photos that were laid on the base photo, and how well."""
    if not one.others:
        return []
    told = [say("map.within", file=photo.file_name, mm=f"{rms:.1f}") if rms is not None else photo.file_name
            for photo, rms in one.others]  # fmt: skip
    return [(say("map.others"), ", ".join(told), 5)]

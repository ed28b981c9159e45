"""How it was measured: the scale of each photo, and what its uncertainty is made of."""

from __future__ import annotations

from collections import defaultdict

from reportlab.platypus import CondPageBreak, Flowable, Spacer

from condition.records.measurement import Measurement, as_text
from condition.records.photo import Photo
from condition.records.sheet import ConditionSheet
from condition.report.drawing import MM, Path, Primitive, Stroke
from condition.report.flowables import Drawn, Noted, note
from condition.report.sections import Press
from condition.report.styles import BODY, NOTE, NOTES_MM
from condition.words import say, say_n

_BAR_MM = 4.0
_GREYS = ("#1F5C57", "#6E9A94", "#A9C4BF", "#40525A", "#8C9A9E", "#C9CFCB", "#E2E6E3")


def method(sheet: ConditionSheet, press: Press) -> list[Flowable]:
    """Method, scale of each photo, and a bar a group of measurements that shows what their ± is made of."""
    measured = [one for entry in sheet.findings for one in entry.measurements]
    if not measured and not any(photo.plane for photo in sheet.photos):
        return []
    story: list[Flowable] = [CondPageBreak(70 * MM), Spacer(0, 6 * MM), press.heading("method")]
    story += press.noted(say("report.coverage"), say("report.coverage_text"))
    methods = sorted({one.method for one in measured if one.method})
    story += press.noted(say("report.methods"), ", ".join(methods))
    for photo in sheet.photos:
        if photo.plane:
            story += _scale(photo, press)
        story += _groups(photo, sheet, press)
    return story


def _scale(photo: Photo, press: Press) -> list[Flowable]:
    plane = photo.plane
    used = [card for card in plane.cards if not card.left_out]
    parts = [say(f"report.scale_{plane.kind.replace(' ', '_')}")]
    if used:
        ids = ", ".join(str(card.id) for card in used)
        parts.append(say_n("report.scale_n_cards", len(used), ids=ids, side=f"{plane.card_side_mm:g}"))
    if plane.residual_px:
        parts.append(say("report.scale_residual", residual=f"{plane.residual_px:.2f}"))
    if plane.tilt_degrees is not None:
        parts.append(say("report.scale_tilt", tilt=f"{plane.tilt_degrees:.1f}"))
    if plane.surface_height_mm:
        parts.append(say("report.scale_height", height=f"{plane.surface_height_mm:g}"))
    figures = say(
        "report.scale_figures", scale=f"{plane.mm_per_px:.4f}", percent=f"{100 * plane.relative_expanded:.2g}"
    )
    text = f"{figures}\n{'; '.join(parts)}."
    return [
        Spacer(0, 1.5 * MM),
        Noted(press.type_.markup(text), BODY, note(photo.file_name, press.type_)),
        Spacer(0, 2 * MM),
    ]


def _groups(photo: Photo, sheet: ConditionSheet, press: Press) -> list[Flowable]:
    groups: dict[str, list[tuple[int, Measurement]]] = defaultdict(list)
    for entry in sheet.findings:
        for one in entry.measurements:
            if one.photo_id == photo.id and one.parts and one.bound is None:
                groups[one.quantity].append((entry.finding.number, one))
    story: list[Flowable] = []
    for quantity, members in groups.items():
        story += _group(quantity, members, press)
    return story


def _group(quantity: str, members: list[tuple[int, Measurement]], press: Press) -> list[Flowable]:
    shares = variance_shares([one for _, one in members])
    width = press.page.measure / MM - NOTES_MM
    numbers = ", ".join(str(number) for number, _ in members)
    listed = " · ".join(f"{_part(name)} {share:.0%}" for name, share in shares)
    widest = max((one for _, one in members), key=lambda one: one.expanded / abs(one.value) if one.value else 0)
    words = say("report.group", quantity=say(f"quantity.{quantity}"), numbers=numbers, example=as_text(widest))
    return [
        Noted(press.type_.markup(words, "caption"), NOTE),
        Drawn(_bar(shares, NOTES_MM, width), width, _BAR_MM + 1.0, press.type_),
        Noted(press.type_.markup(listed, "caption"), NOTE),
        Spacer(0, 3 * MM),
    ]


def variance_shares(members: list[Measurement]) -> list[tuple[str, float]]:
    """Return each part's share of the variance, averaged over the group, largest first.

    Source: JCGM 100:2008, 5.1.2 (variances add).
    """
    mean: dict[str, float] = defaultdict(float)
    for one in members:
        total = sum(part.standard**2 for part in one.parts)
        for part in one.parts:
            mean[part.name] += part.standard**2 / total / len(members) if total else 0.0
    return sorted(mean.items(), key=lambda item: -item[1])


def _part(name: str) -> str:
    code = f"report.part_{name.replace(' ', '_')}"
    said = say(code)
    return name if said == code else said


def _bar(shares: list[tuple[str, float]], left: float, width: float) -> list[Primitive]:
    drawn: list[Primitive] = []
    x = left
    for k, (_, share) in enumerate(shares):
        right = min(left + width, x + share * width)
        box = ((x, 0.6), (right, 0.6), (right, _BAR_MM), (x, _BAR_MM))
        drawn.append(Path((box,), True, Stroke("#FFFFFF", 0.25), _GREYS[min(k, len(_GREYS) - 1)]))
        x = right
    return drawn

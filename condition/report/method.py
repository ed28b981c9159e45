"""How it was measured: the scale of each photo, and what its uncertainty is made of, as bars and as a table."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from reportlab.platypus import CondPageBreak, Flowable, Spacer

from condition.measure.combine import NOTE as DISAGREE
from condition.records.legend import INK, MUTED
from condition.records.measurement import Measurement, as_text
from condition.records.photo import Photo
from condition.records.shapes import Pair
from condition.records.sheet import ConditionSheet
from condition.report.drawing import MM, Path, Primitive, Stroke, Text
from condition.report.flowables import Drawn, note, noted
from condition.report.map_legend import shortened
from condition.report.sections import Press
from condition.report.styles import BODY, NOTES_MM
from condition.report.table import table
from condition.words import say, say_n

_BAR_MM = 4.0
_LEAST_MM = 8.0
_MOST_LISTED = 6
_MOST_CAUSES = 6
_LEAST_SHARE = 0.02
_WORTH_TELLING = 0.01
"""Of the combined standard uncertainty: a smaller part changes it by less than 1 in 10 000."""
_OTHER = "other"
_SHADES = ("#163F3C", "#D6E3DF", "#5E9089", "#A5C2BD", "#2F6A64", "#EDF2F0")
"""Far apart as greys too, neighbours most of all."""

_OTHER_SHADE = "#FFFFFF"
_DARK = ("#163F3C", "#2F6A64", "#5E9089")


def method(sheet: ConditionSheet, press: Press) -> list[Flowable]:
    """Method, scale of each photo, a bar a group of measurements that shows what their ± is made of, and the table."""
    measured = [one for entry in sheet.findings for one in entry.measurements]
    if not measured and not any(photo.plane for photo in sheet.photos):
        return []
    story: list[Flowable] = [CondPageBreak(70 * MM), Spacer(0, 6 * MM), press.heading("method")]
    story += press.noted(say("report.coverage"), say("report.coverage_text"))
    named = {one.method for one in measured} | {photo.plane.method for photo in sheet.photos if photo.plane}
    story += press.noted(say("report.methods"), "; ".join(sorted({method_words(name) for name in named if name})))
    apart = [str(e.finding.number) for e in sheet.findings if any(one.note == DISAGREE for one in e.measurements)]
    if apart:
        story += press.noted(say("method.disagree"), say("method.disagree_text", numbers=", ".join(apart)))
    causes = _causes(measured)
    story += _key(causes, press)
    for photo in sheet.photos:
        groups = _groups(photo, sheet, causes, press)
        if photo.plane:
            story += _scale(photo, press)
        story += groups
    return [*story, *_table(sheet, causes, press)]


def method_words(name: str) -> str:
    """Return a method's name in words with its version, such as 'rim of the hole fitted in the photo (1)'."""
    first, _, more = name.partition(", ")
    words, _, version = first.rpartition(" ")
    if not version.isdigit():
        words, version = first, ""
    code = f"method.{words.replace(' ', '_')}"
    said = say(code)
    parts = [words if said == code else said, f" ({version})" if version else ""]
    return "".join(parts) + (f", {say('method.weighted')}" if more == "weighted" else "")


def _table(sheet: ConditionSheet, causes: _Causes, press: Press) -> list[Flowable]:
    """Every measurement with the standard uncertainty that each cause brings, in the unit it is given in."""
    rows = []
    for entry in sheet.findings:
        for one in entry.measurements:
            if not one.parts or one.bound is not None or one.expanded <= 0:
                continue
            size = 0.01 if one.unit == "mm2" and abs(one.value) >= 100 else 1.0
            squares: dict[str, float] = defaultdict(float)
            for part in one.parts:
                squares[part.name if part.name in causes.names else _OTHER] += (size * part.standard) ** 2
            least = _WORTH_TELLING**2 * sum(squares.values())
            shares = [f"{squares[name] ** 0.5:.2g}" if squares[name] > least else "–" for name in causes.names]
            rows.append([str(entry.finding.number), f"{say(f'quantity.{one.quantity}')} {as_text(one)}", *shares])
    if not rows:
        return []
    head = [say("method.number"), say("method.measured"), *(_part(name) for name in causes.names)]
    widths = [0.9, 4.2, *[1.6] * len(causes.names)]
    return [
        Spacer(0, 3 * MM),
        *press.noted(say("method.table"), say("method.table_text")),
        table(head, rows, widths, press),
    ]


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
        noted(press.type_.markup(text), BODY, note(photo.file_name, press.type_)),
        Spacer(0, 2 * MM),
    ]


@dataclass(frozen=True, slots=True)
class _Causes:
    """The causes of uncertainty in the report, the largest first, each with its one shade; small ones go together."""

    names: tuple[str, ...]

    def shade(self, name: str) -> str:
        return _OTHER_SHADE if name == _OTHER else _SHADES[self.names.index(name)]

    def gathered(self, shares: list[tuple[str, float]]) -> dict[str, float]:
        """Return the shares by name, those without a name of their own taken together."""
        together: dict[str, float] = defaultdict(float)
        for name, share in shares:
            together[name if name in self.names else _OTHER] += share
        return together


def _causes(measured: list[Measurement]) -> _Causes:
    shares = variance_shares([one for one in measured if one.parts and one.expanded > 0])
    names = [name for name, share in shares[:_MOST_CAUSES] if share >= _LEAST_SHARE]
    return _Causes((*names, _OTHER) if len(names) < len(shares) else tuple(names))


def _key(causes: _Causes, press: Press) -> list[Flowable]:
    """Draw the causes with their shades, in as many lines as they need."""
    if not causes.names:
        return []
    width = press.page.measure / MM
    drawn: list[Primitive] = []
    x, y = NOTES_MM, 0.0
    for name in causes.names:
        word = _part(name)
        wide = 5.0 + press.type_.width(word, "caption", 2.6) + 5.0
        if x + wide > width and x > NOTES_MM:
            x, y = NOTES_MM, y + 5.0
        drawn.append(Path((_box(x, y + 0.6, 3.2, 2.6),), True, Stroke(MUTED, 0.1), causes.shade(name)))
        drawn.append(Text(x + 4.8, y + 2.8, word, 2.6, INK))
        x += wide
    return [Drawn(drawn, width, y + 6.5, press.type_), Spacer(0, 1 * MM)]


def _groups(photo: Photo, sheet: ConditionSheet, causes: _Causes, press: Press) -> list[Flowable]:
    groups: dict[str, list[tuple[int, Measurement]]] = defaultdict(list)
    for entry in sheet.findings:
        for one in entry.measurements:
            if one.photo_id == photo.id and one.parts and one.bound is None and one.expanded > 0:
                groups[one.quantity].append((entry.finding.number, one))
    return [_group(quantity, members, causes, press) for quantity, members in groups.items()]


def _group(quantity: str, members: list[tuple[int, Measurement]], causes: _Causes, press: Press) -> Flowable:
    shares = causes.gathered(variance_shares([one for _, one in members]))
    width = press.page.measure / MM
    numbers = sorted({number for number, _ in members})
    listed = ", ".join(map(str, numbers)) if len(numbers) <= _MOST_LISTED else say_n("report.n_findings", len(numbers))
    words = say("report.group", quantity=say(f"quantity.{quantity}"), numbers=listed)
    drawn: list[Primitive] = [Text(0, 3.4, shortened(words, NOTES_MM - 2, 2.6, "caption", press.type_), 2.6, MUTED)]
    x, room = NOTES_MM, width - NOTES_MM
    for name in causes.names:
        share = shares.get(name, 0.0)
        if share <= 0:
            continue
        shade = causes.shade(name)
        drawn.append(Path((_box(x, 0.6, share * room, _BAR_MM),), True, Stroke(MUTED, 0.1), shade))
        if share * room > _LEAST_MM:
            ink = "#FFFFFF" if shade in _DARK else INK
            drawn.append(Text(x + share * room / 2, 3.4, f"{share:.0%}", 2.4, ink, "caption", "middle"))
        x += share * room
    return Drawn(drawn, width, _BAR_MM + 2.6, press.type_)


def _box(x: float, y: float, width: float, height: float) -> tuple[Pair, ...]:
    return ((x, y), (x + width, y), (x + width, y + height), (x, y + height))


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
    if name == _OTHER:
        return say("report.part_other")
    code = f"budget.{name.replace(' ', '_')}"
    said = say(code)
    return name if said == code else said

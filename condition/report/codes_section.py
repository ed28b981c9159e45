"""Stamps and codes: as read and what they come to, or left unread and why."""

from __future__ import annotations

from reportlab.platypus import CondPageBreak, Flowable, Spacer

from condition.records.bench_sheet import StampEntry
from condition.records.sheet import ConditionSheet
from condition.report.drawing import MM
from condition.report.flowables import Heading
from condition.report.readings_section import told_text
from condition.report.sections import Press
from condition.report.table import Cell, table
from condition.words import say


def codes(sheet: ConditionSheet, press: Press) -> list[Flowable]:
    """Return the section; nothing when no stamp or code was noted."""
    entries = sheet.bench.stamps
    if not entries:
        return []
    names = {photo.id: photo.file_name for photo in sheet.photos}
    head = (say("codes.report_part"), say("codes.report_reads"), say("codes.report_means"))
    rows = [_row(entry, names) for entry in entries]
    return [
        CondPageBreak(50 * MM),
        Spacer(0, 6 * MM),
        Heading(say("codes.report"), press.type_, "codes"),
        table(head, rows, (38, 40, 66), press),
        Spacer(0, 4 * MM),
    ]


def _row(entry: StampEntry, names: dict[str, str]) -> list[Cell]:
    stamp = entry.stamp
    kind = say(f"codes.kind_{stamp.kind}".replace(" ", "_"))
    part = f"{stamp.part}\n{kind}"
    if names.get(stamp.photo_id or ""):
        part += f"\n{names[stamp.photo_id]}"
    if stamp.left_unread:
        return [part, (say("codes.report_unread"), "italic"), "\n".join(filter(None, (stamp.reason, stamp.note)))]
    lines = [told_text(entry.headline)] if entry.headline else []
    lines += [told_text(one) for one in (*entry.claims, *entry.besides)]
    if stamp.note:
        lines.append(stamp.note)
    return [part, (stamp.typed, "semibold"), "\n".join(lines)]

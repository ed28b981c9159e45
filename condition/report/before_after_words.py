"""Sentences of a return check that the report and the client's page share."""

from __future__ import annotations

from condition.records.finding import Finding
from condition.records.return_check import ReturnVerdict
from condition.records.return_sheet import DoubtGroup, ReturnEntry
from condition.records.sheet import ConditionSheet
from condition.words import say, say_n


def sentence(text: str) -> str:
    """Return words with one full stop at their end, unless they end with a mark of their own."""
    text = text.strip()
    return text if not text or text[-1] in ".!?" else f"{text}."


def about_area(area_mm2: float) -> str:
    """Return such as ``64 cm²`` or ``7.9 mm²``: two digits, for what is added up and not measured as one."""
    value, unit = (area_mm2 / 100, "cm²") if area_mm2 >= 100 else (area_mm2, "mm²")
    return f"{float(f'{value:.2g}'):g} {unit}"


def places_text(group: DoubtGroup) -> str:
    """Return how many places a group holds and how much of what was compared on their pair they are."""
    count = len(group.change_ids)
    percent = f"{group.percent:.1f}" if group.percent >= 0.05 else "< 0.1"
    if group.area_mm2 is None:
        return say_n("returns.places", count, percent=percent)
    return say_n("returns.places_with_area", count, percent=percent, area=about_area(group.area_mm2))


def told_together(entry: ReturnEntry, names: dict[str, str]) -> list[str]:
    """Return one statement for each cause: how many places cannot be told, on which photos, how much of them."""
    pairs = {pair.id: names.get(pair.before_id, "") for pair in entry.pairs}
    told = []
    for cause in dict.fromkeys(one.cause for one in entry.doubt):
        here = [one for one in entry.doubt if one.cause == cause]
        count = sum(len(one.change_ids) for one in here)
        where = "; ".join(
            say("return_paper.on_photo", file=pairs.get(one.pair_id, ""), places=places_text(one)) for one in here
        )
        name = say(f"returns.cause_{cause}")
        told.append(say_n("return_paper.of_cause", count, cause=name[:1].upper() + name[1:], where=where))
    return told


def why_text(verdict: ReturnVerdict) -> str:
    """Return what the program's proposal rests on, as one line."""
    return "; ".join(say(code, **dict(values)) for code, values in verdict.why)


def agreed_and_done(finding: Finding, sheet: ConditionSheet) -> list[tuple[str, str]]:
    """Return (label, words) of what was agreed about a finding and what was done, from the plan; else its decision."""
    planned = [
        entry.treatment
        for entry in sheet.plan
        if entry.treatment.about == "finding" and entry.treatment.about_id == finding.id and entry.treatment.chosen
    ]
    if not planned:
        if not finding.decision:
            return []
        return [(say("return_paper.agreed"), say(f"decision.{finding.decision.replace(' ', '_')}"))]
    lines = []
    for one in planned:
        action = say(f"plan.action_{one.action.replace(' ', '_')}")
        lines.append((say("return_paper.agreed"), f"{action}: {one.what}" if one.what else action))
        if one.done_on:
            lines.append((say("return_paper.done"), " ".join(filter(None, (one.done_on, one.done_words)))))
        elif one.action != "leave":
            lines.append((say("return_paper.done"), say("return_paper.not_marked_done")))
    return lines


def not_compared(entry: ReturnEntry, sheet: ConditionSheet) -> list[tuple[str, str]]:
    """Return (label, sentence) of everything that the check does not answer for."""
    names = {photo.id: photo.file_name for photo in sheet.photos}
    numbers = {one.finding.id: one.finding.number for one in sheet.findings}
    lines = [(say("return_paper.in_words"), entry.check.not_compared)]
    for pair in entry.pairs:
        files = {"before": names.get(pair.before_id, ""), "after": names.get(pair.after_id, "")}
        if pair.state == "refused":
            why = say(pair.refused[0], **dict(pair.refused[1]))
            text = say("return_paper.refused", why=why, **files)
        else:
            seen = {"overlap": round(100 * pair.overlap), "share": round(100 * pair.share)}
            text = say("return_paper.share", **seen, **files)
        lines.append((say("return_paper.pair"), text))
    lines += [(say("return_paper.not_told"), text) for text in told_together(entry, names)]
    for code, ids in (("not_again", entry.not_again), ("alone", entry.alone)):
        files = ", ".join(names[key] for key in ids if key in names)
        if files:
            lines.append((say("return_paper.photos"), say(f"return_paper.{code}", files=files)))
    unseen = [numbers[one.finding_id] for one in entry.verdicts
              if one.verdict == "not seen" and one.finding_id in numbers]  # fmt: skip
    if unseen:
        told = ", ".join(map(str, unseen))
        lines.append((say("return_paper.findings"), say_n("return_paper.unseen", len(unseen), numbers=told)))
    if any(one.what == "strings off" for one in entry.check.declared):
        lines.append((say("returns.declared_strings off"), say("return_paper.strings_off")))
    lines.append((say("return_paper.limits"), say("return_paper.limits_text")))
    return [(label, text) for label, text in lines if text]

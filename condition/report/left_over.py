"""What a strip-down leaves over, in words: the same on the page and on paper."""

from __future__ import annotations

from condition.records.reassembly import Account
from condition.words import say, say_n


def over_in_words(left: Account) -> list[str]:
    """Return the closing line, ``bags left: 0, screws left: 0``, and a line for each thing that is over or stays."""
    lines = [say("strip_down.closing", bags=len(left.bags_left), screws=left.screws_left)]
    for step in left.open_steps:
        lines.append(say("strip_down.over_open", step=step.step_order, what=step.what))
    for step in left.over:
        words = say_n("strip_down.over_screws", step.screws_left, step=step.step_order, what=step.what)
        lines.append(f"{words} {step.over_reason}".strip())
    for bag in left.bags_left:
        lines.append(say("strip_down.over_bag", number=bag.number, label=bag.label).strip(" :"))
    for part in left.parts_left:
        lines.append(say("strip_down.over_part", name=part.name))
    for bag in left.bags_staying:
        lines.append(say("strip_down.stays", number=bag.number, why=bag.stays))
    for part in left.parts_out:
        lines.append(say("strip_down.part_is_out", name=part.name, who=part.out_to))
    return lines

"""What a return check came to, in one strip at the top: verdicts, what is new, what waits, what cannot be told."""

from __future__ import annotations

from html import escape

import streamlit as st

from condition.flow.return_check import pairs_of
from condition.pages.frame import desk, plain
from condition.records.return_check import VERDICTS, ReturnChange, ReturnCheck, ReturnVerdict
from condition.records.return_sheet import DoubtGroup
from condition.words import say, say_n

LOOKS = {
    "repaired": "background:#1f5c57;color:#fff",
    "better": "background:#1f5c57;color:#fff",
    "as it was": "background:#dce8e4;color:#1d2628",
    "worse": "background:#8e2c2c;color:#fff",
    "not seen": "background:#eef0ec;color:#1d2628",
    "new": "background:#8e2c2c;color:#fff",
    "to decide": "background:#9a4a12;color:#fff",
    "look": "background:#fff;color:#1d2628;border-style:dashed",
    "apart": "background:#fff;color:#1d2628;border-style:dotted",
}


def summary(
    check: ReturnCheck,
    verdicts: tuple[ReturnVerdict, ...],
    changes: tuple[ReturnChange, ...],
    first: tuple[ReturnChange, ...],
    groups: tuple[DoubtGroup, ...],
) -> None:
    counts = {verdict: sum(one.verdict == verdict for one in verdicts) for verdict in VERDICTS}
    fields = [(verdict, count, say_n(f"returns.sum_{verdict}", count)) for verdict, count in counts.items() if count]
    new = len({one.finding_id for one in changes if one.decision == "accepted"})
    waiting = sum(is_new(one) for one in changes)
    apart = sum(len(one.change_ids) for one in groups)
    fields += [("new", new, say("returns.sum_new"))] if new else []
    for look, count in (("to decide", waiting), ("look", len(first)), ("apart", apart)):
        if count:
            fields.append((look, count, say_n(f"returns.sum_{look}", count)))
    if not new and not waiting:
        fields.append(("apart", 0, say("returns.sum_new")))
    boxes = "".join(
        f'<div style="flex:1 1 auto;{LOOKS[look]}"><b>{n}</b> {escape(word)}</div>' for look, n, word in fields
    )
    st.html(f'<div class="parts-strip" role="img" aria-label="{escape(say("returns.summary"))}">{boxes}</div>')
    _below(check, verdicts)


def is_new(change: ReturnChange) -> bool:
    """Whether a change is sure, open, at no finding, and told for the first time."""
    return change.decision == "open" and not change.reason and not change.touches and not change.same_as


def _below(check: ReturnCheck, verdicts: tuple[ReturnVerdict, ...]) -> None:
    """How many verdicts a person has not confirmed, and what could not be compared."""
    lines = []
    proposed = sum(not one.confirmed for one in verdicts)
    if proposed:
        lines.append(say_n("returns.only_proposed", proposed))
    pairs = [pair for pair in pairs_of(desk(), check) if pair.state != "compared"]
    if pairs:
        lines.append(say_n("returns.pairs_left", len(pairs)))
    if check.not_compared:
        lines.append(f"{say('returns.not_compared')}: {check.not_compared}")
    if lines:
        st.caption(plain(" ".join(lines)))

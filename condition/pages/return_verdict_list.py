"""What became of each finding: the program proposes, the person confirms or says otherwise."""

from __future__ import annotations

from functools import partial

import streamlit as st

from condition.flow.desk import Desk
from condition.flow.return_check import pairs_of
from condition.flow.return_verdicts import confirm_verdict, propose_again
from condition.pages.frame import again, desk, plain, told
from condition.pages.return_viewer import show_finding
from condition.records.finding import Finding
from condition.records.measurement import Measurement, as_text
from condition.records.return_check import VERDICTS, ReturnCheck, ReturnVerdict
from condition.words import say

SIGNS = {"repaired": "✔", "better": "↗", "as it was": "=", "worse": "✖", "not seen": "?"}


def verdict_list(check: ReturnCheck, verdicts: tuple[ReturnVerdict, ...]) -> None:
    findings = {finding.id: finding for finding in desk().store.find(Finding, job_id=check.job_id)}
    st.subheader(say("returns.verdicts"), anchor="verdicts")
    if not verdicts:
        st.caption(say("returns.no_findings"))
        return
    open_ones = [one for one in verdicts if not one.confirmed]
    left, right = st.columns(2)
    if open_ones and left.button(
        say("returns.confirm_verdicts"), key="confirm-verdicts", type="primary", width="stretch"
    ):
        with told():
            for one in open_ones:
                confirm_verdict(desk(), one, one.proposed)
            again()
    if right.button(say("returns.propose_again"), key="propose-again", width="stretch"):
        propose_again(desk(), check)
        again()
    shown = {place.finding_id for pair in pairs_of(desk(), check) if pair.state == "compared" for place in pair.places}
    for one in verdicts:
        _card(one, findings[one.finding_id], one.finding_id in shown)


def _card(verdict: ReturnVerdict, finding: Finding, shown: bool) -> None:
    with st.container(border=True, key=f"return-verdict-{verdict.id}"):
        kind = finding.own_kind or say(f"kind.{finding.kind}")
        place = f", {finding.place}" if finding.place else ""
        said = say(f"returns.verdict_{verdict.verdict}")
        proposed = "" if verdict.confirmed else f" {say('returns.is_proposed')}"
        st.markdown(
            f"**{SIGNS[verdict.verdict]} {plain(said)}**{proposed} · **{finding.number}** {plain(kind + place)}"
        )
        st.caption(plain(_because(verdict)))
        with st.container(horizontal=True, gap="small"):
            if shown and st.button(say("returns.show"), key=f"see-{verdict.id}"):
                show_finding(verdict)
                again()
            if not verdict.confirmed and st.button(say("returns.confirm_one"), key=f"agree-{verdict.id}"):
                with told():
                    confirm_verdict(desk(), verdict, verdict.proposed)
                    again()
            other = st.popover(say("returns.your_verdict"), key=f"say-{verdict.id}", on_change="rerun")
            if other.open:
                with other:
                    _say_otherwise(verdict)


def _because(verdict: ReturnVerdict) -> str:
    """What it rests on, in one line: the person's words, what the program says, the sizes before and after."""
    why = "; ".join(say(code, **dict(values)) for code, values in verdict.why)
    if verdict.confirmed and verdict.confirmed != verdict.proposed:
        why = say("returns.proposed_because", verdict=say(f"returns.verdict_{verdict.proposed}"), why=why)
    sizes = sizes_text(verdict) if verdict.before is not None or verdict.after is not None else ""
    said = verdict.exceeds is not None and verdict.confirmed == verdict.proposed
    return " · ".join(filter(None, (verdict.words, "" if said else why, sizes)))


def _say_otherwise(verdict: ReturnVerdict) -> None:
    options = ["", *VERDICTS]
    st.selectbox(
        say("returns.your_verdict"),
        options,
        options.index(verdict.confirmed),
        format_func=lambda code: say(f"returns.verdict_{code}") if code else say("returns.not_said"),
        key=f"verdict-{verdict.id}",
        on_change=partial(_say, desk(), verdict),
    )
    st.text_input(
        say("returns.verdict_words"),
        verdict.words,
        key=f"verdict-words-{verdict.id}",
        on_change=partial(_say, desk(), verdict),
    )


def sizes_text(verdict: ReturnVerdict) -> str:
    """Return such as ``length 148 ± 1 mm before, not measured after``."""

    def one(measurement: Measurement | None) -> str:
        return as_text(measurement) if measurement else say("returns.not_measured")

    quantity = (verdict.before or verdict.after).quantity
    told_sizes = say(
        "returns.sizes", what=say(f"quantity.{quantity}"), before=one(verdict.before), after=one(verdict.after)
    )
    if verdict.exceeds is None:
        return told_sizes
    return f"{told_sizes} ({say('returns.beyond' if verdict.exceeds else 'returns.within')})"


def _say(at: Desk, verdict: ReturnVerdict) -> None:
    with told():
        confirm_verdict(
            at,
            verdict,
            st.session_state[f"verdict-{verdict.id}"],
            st.session_state[f"verdict-words-{verdict.id}"],
        )

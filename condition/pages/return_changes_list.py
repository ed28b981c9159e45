"""The list of changes, the surest first: what nobody mentioned, what is in doubt, what is settled."""

from __future__ import annotations

import streamlit as st

from condition.flow.return_changes import accept_as_finding, dismiss, explain, reopen
from condition.pages.frame import desk, picture, plain, told
from condition.pages.return_viewer import CHOSEN, change_labels, show_change
from condition.records.finding import Finding
from condition.records.legend import KINDS
from condition.records.measurement import as_text
from condition.records.return_check import ReturnChange, ReturnCheck
from condition.words import say, say_n

SHOWN_AT_ONCE = 12
PICTURE_PX = 104


def changes_list(check: ReturnCheck, changes: tuple[ReturnChange, ...]) -> None:
    """Every change is in one of the groups; one that a second pair shows too is told with the first."""
    labels = change_labels(changes)
    findings = {finding.id: finding for finding in desk().store.find(Finding, job_id=check.job_id)}
    first = [one for one in changes if not one.same_as]
    new = [one for one in first if one.decision == "open" and not one.touches and not one.reason]
    known = [one for one in first if one.decision == "open" and one.touches]
    doubt = [one for one in first if one.decision == "open" and not one.touches and one.reason]
    settled = [one for one in first if one.decision != "open"]
    also = [one for one in changes if one.same_as]
    st.subheader(say_n("returns.new_changes", len(new)), anchor="changes")
    if not new:
        st.caption(say("returns.no_new"))
    for group, code, opened in (
        (new, "", True),
        (doubt, "returns.doubtful", False),
        (known, "returns.at_findings", False),
        (settled, "returns.settled", False),
        (also, "returns.also", False),
    ):
        if not group:
            continue
        place = st.container() if opened else st.expander(say_n(code, len(group)))
        with place:
            _group(check, group, labels, findings, code or "new")


def _group(
    check: ReturnCheck, group: list[ReturnChange], labels: dict[str, str], findings: dict[str, Finding], name: str
) -> None:
    shown = st.session_state.get(f"shown-{name}", SHOWN_AT_ONCE)
    for change in group[:shown]:
        _card(check, change, labels[change.id], findings)
    rest = len(group) - shown
    if rest > 0 and st.button(say_n("returns.more", rest), key=f"more-{name}", width="stretch"):
        st.session_state[f"shown-{name}"] = shown + SHOWN_AT_ONCE
        st.rerun()


def _card(check: ReturnCheck, change: ReturnChange, label: str, findings: dict[str, Finding]) -> None:
    with st.container(border=True, key=f"return-change-{change.id}"):
        with st.container(horizontal=True, gap="small"):
            for side, words in (("before", "returns.before_of"), ("after", "returns.after_of")):
                address = f"/bench/return/{change.id}/{side}.jpg"
                st.markdown(picture(address, say(words, label=label)), width=PICTURE_PX)
            with st.container(width="stretch"):
                here = st.session_state.get(CHOSEN) == change.id
                st.markdown(f"**{label}** {':material/visibility:' if here else ''} {plain(_facts(change, findings))}")
                if change.decision != "open":
                    st.markdown(_decided(check, change, findings))
        show, act = st.columns(2)
        if show.button(say("returns.show"), key=f"show-{change.id}", width="stretch"):
            show_change(change)
            st.rerun()
        if change.decision == "open":
            with act.popover(say("returns.decide"), width="stretch"):
                _decide(change, findings)
        elif act.button(say("returns.reopen"), key=f"reopen-{change.id}", width="stretch"):
            with told():
                reopen(desk(), change)
                st.rerun()


def _facts(change: ReturnChange, findings: dict[str, Finding]) -> str:
    parts = [say("returns.colour_difference", value=f"{change.delta_e:.1f}")]
    if change.area is not None:
        parts.append(as_text(change.area))
    if change.reason:
        parts.append(say(f"compare.reason_{change.reason}"))
    numbers = sorted(findings[key].number for key in change.touches if key in findings)
    if numbers:
        parts.append(say_n("returns.touches", len(numbers), numbers=", ".join(map(str, numbers))))
    return ", ".join(parts)


def _decided(check: ReturnCheck, change: ReturnChange, findings: dict[str, Finding]) -> str:
    declared = next((one for one in check.declared if one.id == change.declared_id), None)
    if declared is not None:
        words = say(f"returns.declared_{declared.what}")
        return say("returns.explained_by", what=plain(f"{words}: {declared.words}" if declared.words else words))
    if change.decision == "accepted" and change.finding_id in findings:
        return say("returns.is_finding", number=findings[change.finding_id].number)
    return f"{say(f'returns.decision_{change.decision}')}: {plain(change.words)}"


def _decide(change: ReturnChange, findings: dict[str, Finding]) -> None:
    words = st.text_input(say("returns.in_words"), key=f"words-{change.id}")
    kind = st.selectbox(
        say("returns.kind"),
        list(KINDS),
        list(KINDS).index("dent"),
        format_func=lambda code: say(f"kind.{code}"),
        key=f"kind-{change.id}",
    )
    numbers = {finding.id: finding.number for finding in findings.values()}
    belongs = st.selectbox(
        say("returns.belongs_to"),
        [None, *numbers],
        format_func=lambda key: say("returns.new_finding") if key is None else str(numbers[key]),
        key=f"belongs-{change.id}",
    )
    with told():
        if st.button(say("returns.accept"), key=f"accept-{change.id}", type="primary", width="stretch"):
            accept_as_finding(desk(), change, findings[belongs].kind if belongs else kind, words, belongs)
            st.rerun()
        if st.button(say("returns.explain"), key=f"explain-{change.id}", width="stretch"):
            explain(desk(), change, words)
            st.rerun()
        if st.button(say("returns.dismiss"), key=f"dismiss-{change.id}", width="stretch"):
            dismiss(desk(), change, words)
            st.rerun()

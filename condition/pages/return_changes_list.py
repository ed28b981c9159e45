"""The list of changes: what is new or to decide, what looks like damage, what is told together, what is settled."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

import streamlit as st

from condition.flow.return_doubt import open_together
from condition.pages.frame import again, desk, picture, plain, told
from condition.pages.return_decided import can_take_back, decide, take_back
from condition.pages.return_doubt_list import doubt_list
from condition.pages.return_summary import is_new
from condition.pages.return_viewer import CHOSEN, change_labels, pair_names, show_change
from condition.records.finding import Finding
from condition.records.legend import KINDS
from condition.records.measurement import as_text
from condition.records.return_check import ReturnChange, ReturnCheck
from condition.records.return_sheet import DoubtGroup
from condition.words import say, say_n

SHOWN_AT_ONCE = 12
TOLD_TOGETHER = 4
"""Changes settled for one reason from which they are told as one."""
PICTURE_PX = 104

Cards = Callable[[list[ReturnChange], str], None]


def changes_list(
    check: ReturnCheck,
    changes: tuple[ReturnChange, ...],
    first: tuple[ReturnChange, ...],
    groups: tuple[DoubtGroup, ...],
) -> None:
    """Every change is in one of the lists; one that a second pair shows too is told with the first."""
    labels = change_labels(changes)
    findings = {finding.id: finding for finding in desk().store.find(Finding, job_id=check.job_id)}
    cards = partial(_cards, check, labels, findings)
    once = [one for one in changes if not one.same_as]
    waiting = [one for one in once if is_new(one)]
    accepted = [one for one in once if one.decision == "accepted"]
    st.subheader(say_n("returns.new_changes", len(waiting)), anchor="changes")
    if not waiting:
        st.caption(say("returns.no_new"))
    if can_take_back(check) and st.button(say("returns.take_back"), key="return-take-back", width="stretch"):
        with told():
            take_back(desk(), check)
            again()
    cards(waiting, "new")
    if accepted:
        st.markdown(f"### {say_n('returns.new_findings', len(accepted))}")
        cards(accepted, "accepted")
    if first:
        place = st.expander(say_n("returns.look_first", len(first)), expanded=True, key="list-first", on_change="rerun")
        if place.open:
            with place:
                st.caption(say("returns.look_first_help"))
                cards(list(first), "first")
    doubt_list(check, groups, {one.id: one for one in changes}, pair_names(check), cards)
    known = [one for one in once if one.decision == "open" and one.touches]
    settled = [one for one in once if one.decision not in ("open", "accepted")]
    also = [one for one in changes if one.same_as]
    for group, name, show in (
        (known, "at_findings", cards),
        (settled, "settled", partial(_by_reason, check, cards, findings)),
        (also, "also", cards),
    ):
        if group:
            place = st.expander(say_n(f"returns.{name}", len(group)), key=f"list-{name}", on_change="rerun")
            if place.open:
                with place:
                    show(group, name)


def _by_reason(
    check: ReturnCheck, cards: Cards, findings: dict[str, Finding], group: list[ReturnChange], name: str
) -> None:
    """What was settled for one reason is told once, with its number, and opened again together."""
    reasons: dict[str, list[ReturnChange]] = {}
    for one in group:
        reasons.setdefault(_decided(check, one, findings), []).append(one)
    for k, (reason, members) in enumerate(reasons.items()):
        if len(members) < TOLD_TOGETHER:
            cards(members, f"{name}-{k}")
            continue
        with st.container(border=True, key=f"return-reason-{k}"):
            st.markdown(f"**{len(members)}** · {reason}")
            put_aside = [one.id for one in members if one.decision == "dismissed"]
            if put_aside and st.button(say_n("returns.reopen_all", len(put_aside)), key=f"reopen-all-{k}"):
                with told():
                    open_together(desk(), [one.id for one in desk().store.find(ReturnChange, check_id=check.id)
                                           if {one.id, one.same_as} & set(put_aside)])  # fmt: skip
                    again()
            if st.toggle(say("returns.one_by_one"), key=f"each-reason-{k}"):
                cards(members, f"{name}-{k}")


def _cards(
    check: ReturnCheck, labels: dict[str, str], findings: dict[str, Finding], group: list[ReturnChange], name: str
) -> None:
    shown = st.session_state.get(f"shown-{name}", SHOWN_AT_ONCE)
    for change in group[:shown]:
        _card(check, change, labels[change.id], findings)
    rest = len(group) - shown
    if rest > 0 and st.button(say_n("returns.more", rest), key=f"more-{name}", width="stretch"):
        st.session_state[f"shown-{name}"] = shown + SHOWN_AT_ONCE
        again()


def _card(check: ReturnCheck, change: ReturnChange, label: str, findings: dict[str, Finding]) -> None:
    with st.container(border=True, key=f"return-change-{change.id}"), st.container(horizontal=True, gap="small"):
        for side, words in (("before", "returns.before_of"), ("after", "returns.after_of")):
            address = f"/bench/return/{change.id}/{side}.jpg"
            st.markdown(picture(address, say(words, label=label)), width=PICTURE_PX)
        with st.container(width="stretch", gap="small"):
            here = st.session_state.get(CHOSEN) == change.id
            st.markdown(f"**{label}** {':material/visibility:' if here else ''} {plain(_facts(change, findings))}")
            if change.decision != "open":
                st.markdown(_decided(check, change, findings))
            with st.container(horizontal=True, gap="small"):
                _buttons(change, findings)


def _buttons(change: ReturnChange, findings: dict[str, Finding]) -> None:
    if st.button(say("returns.show"), key=f"show-{change.id}"):
        show_change(change)
        again()
    if change.decision == "open":
        place = st.popover(say("returns.decide"), key=f"decide-{change.id}", on_change="rerun")
        if place.open:
            with place:
                _decide(change, findings)
    elif st.button(say("returns.reopen"), key=f"reopen-{change.id}"):
        with told():
            decide(desk(), change, "reopen")
            again()


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
        finding = findings[change.finding_id]
        kind = finding.own_kind or say(f"kind.{finding.kind}")
        text = say("returns.is_finding", number=finding.number, kind=plain(kind))
        return f"**{text}** {plain(finding.observation)}"
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
            decide(desk(), change, "accept", words, findings[belongs].kind if belongs else kind, belongs)
            again()
        if st.button(say("returns.explain"), key=f"explain-{change.id}", width="stretch"):
            decide(desk(), change, "explain", words)
            again()
        if st.button(say("returns.dismiss"), key=f"dismiss-{change.id}", width="stretch"):
            decide(desk(), change, "dismiss", words)
            again()

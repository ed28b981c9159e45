"""The parts list: by group, as cards, with a summary to look at first."""

from __future__ import annotations

from functools import partial

import streamlit as st

from condition.flow.bags import bags_of
from condition.flow.desk import Desk
from condition.flow.jobs import JobCard
from condition.flow.parts import GROUPS, add_part, bring_back, evidence_of, lay_out, left_undisturbed, parts_of, where
from condition.pages.frame import again, desk, job_heading, picture, plain, told
from condition.pages.part_editor import edit
from condition.pages.put_back import offer_back
from condition.records.job import Job
from condition.records.originality import SIGNS, tally
from condition.records.part import Part
from condition.records.strip_down import Bag
from condition.words import say, say_n

ACROSS = 4


def show() -> None:
    card = job_heading()
    if card is None:
        return
    parts = parts_of(desk(), card.job)
    if parts:
        _summary(card.job, parts)
    _list_tools(card, parts)
    bags = {bag.id: bag for bag in bags_of(desk(), card.job)}
    for group in dict.fromkeys((*GROUPS, *(part.group for part in parts))):
        _group(card.job, group, [part for part in parts if part.group == group], bags)


def _summary(job: Job, parts: tuple[Part, ...]) -> None:
    """One strip of the whole list: each state's share with its symbol, its count and its word."""
    fields = []
    for group, count in tally(parts):
        sign, word = SIGNS[group[0]], say(f"parts.counted_{group[0]}")
        look = f"background:{sign.colour};color:#fff" if group[0] else "background:transparent;color:#1d2628"
        fields.append(f'<div style="flex:{count} 1 auto;{look}"><b>{sign.symbol} {count}</b> {word}</div>')
    st.html(f'<div class="parts-strip" role="img" aria-label="{say("parts.summary")}">{"".join(fields)}</div>')
    left = left_undisturbed(desk(), job)
    if left:
        names = ", ".join(one.name for one in left)
        st.caption(f":material/back_hand: {plain(say_n('parts.n_undisturbed', len(left), names=names))}")


def _list_tools(card: JobCard, parts: tuple[Part, ...]) -> None:
    family = card.instrument.family
    with st.container(horizontal=True, vertical_alignment="bottom", key="part-tools"):
        words = say("parts.lay_out_more") if parts else say("parts.lay_out", family=family)
        if st.button(plain(words), type="secondary" if parts else "primary", key="lay-out"):
            with told():
                lay_out(desk(), card.job)
                again()
        with st.popover(say("parts.add")):
            _add(desk(), card.job)
        offer_back("parts", partial(bring_back, desk()))
    if not parts:
        st.write(say("parts.none_yet"))


def _add(at: Desk, job: Job) -> None:
    with st.form("new-part", border=False, clear_on_submit=True):
        name = st.text_input(say("parts.name"))
        group = st.selectbox(say("parts.group"), GROUPS, format_func=lambda group: say(f"parts.group_{group}"))
        if st.form_submit_button(say("parts.add_it"), type="primary"):
            with told():
                st.session_state["part"] = add_part(at, job, name, group).id
                again()


def _group(job: Job, group: str, parts: list[Part], bags: dict[str, Bag]) -> None:
    if not parts:
        return
    st.markdown(f"### {say(f'parts.group_{group}')}")
    chosen = next((part for part in parts if part.id == st.session_state.get("part")), None)
    if chosen is not None:
        edit(desk(), job, chosen)
    rest = [part for part in parts if part is not chosen]
    looked_at = [part for part in rest if not part.untouched or part.place != "fitted"]
    for first in range(0, len(looked_at), ACROSS):
        for column, part in zip(st.columns(ACROSS), looked_at[first : first + ACROSS], strict=False):
            with column:
                _card(part, bags)
    with st.container(horizontal=True, gap="small", key=f"untouched-{group.replace(' ', '-')}"):
        for part in rest:
            if part not in looked_at and st.button(
                f"{SIGNS[''].symbol} {plain(part.name)}", key=f"open-{part.id}", help=say("parts.state_")
            ):
                _open(part)


def _open(part: Part) -> None:
    st.session_state["part"] = part.id
    again()


def _card(part: Part, bags: dict[str, Bag]) -> None:
    state = (part.originality or "not judged").replace(" ", "-")
    with st.container(border=True, key=f"part-{state}-{part.id}"):
        shown = next((one for one in evidence_of(desk(), part) if one.photo_id), None)
        if shown:
            st.markdown(picture(f"/bench/thumb/{shown.photo_id}", part.name))
        sign = SIGNS[part.originality]
        lines = [
            f"**{plain(part.name[:1].upper() + part.name[1:])}**",
            f"{sign.symbol} {say(f'parts.state_{part.originality}')}",
            "" if part.place == "fitted" else plain(where(part, bags)),
            f":material/back_hand: {say('parts.is_undisturbed')}" if part.undisturbed else "",
        ]
        if st.button(" · ".join(line for line in lines if line), key=f"open-{part.id}", width="stretch"):
            _open(part)

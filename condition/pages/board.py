"""The bench board: every job by where the instrument is and what waits on whom, and a new one."""

from __future__ import annotations

import streamlit as st

from condition.flow.board import GROUPS, BoardEntry, board, card_of
from condition.flow.days import local_day
from condition.flow.demo import demo_is_here, open_demo
from condition.flow.jobs import next_job_name, open_job
from condition.pages.frame import again, desk, go, picture, plain, told
from condition.records.instrument import FAMILIES
from condition.words import say, say_n

ACROSS = 3
GONE_SHOWN = 6
SHOWN_LETTERS = 90


def show() -> None:
    left, right = st.columns([2, 3], vertical_alignment="bottom")
    left.markdown(f"## {say('board.heading')}")
    words = right.text_input(say("board.search"), key="board-search", icon=":material/search:")
    entries = board(desk(), words)
    if not entries:
        st.write(say("board.nothing_found") if words.strip() else say("board.empty"))
    for group in GROUPS:
        _group(group, [entry for entry in entries if entry.group == group], searched=bool(words.strip()))
    left, right = st.columns([3, 2], gap="large")
    with left, st.container(border=True):
        _new_job(open_it=not entries)
    with right, st.container(border=True):
        _demo()


def _group(group: str, entries: list[BoardEntry], *, searched: bool) -> None:
    if not entries:
        return
    code = f"board.group_{group.replace(' ', '_')}"
    st.markdown(f"### {say(code)} · {len(entries)}")
    many = group == "returned" and len(entries) > GONE_SHOWN and not searched
    if many and not st.toggle(say("board.more", n=len(entries)), key="board-all"):
        entries = entries[:GONE_SHOWN]
    for row in range(0, len(entries), ACROSS):
        for column, entry in zip(st.columns(ACROSS), entries[row : row + ACROSS], strict=False):
            with column:
                _card(entry)


def _card(entry: BoardEntry) -> None:
    card = card_of(desk(), entry)
    with st.container(border=True, key=f"job-{card.job.id}"):
        if card.cover:
            st.markdown(picture(f"/bench/thumb/{card.cover.id}", card.instrument.title))
        st.markdown(f"### {plain(card.instrument.title)}")
        st.markdown(f"**{plain(_turn(entry))}**")
        who = card.client.name if card.client else say("page.own_stock") if card.job.own_stock else ""
        lines = [card.job.name, who, card.job.opened_at[:10]]
        st.caption(" · ".join(plain(line) for line in lines if line))
        st.caption(f"{say_n('page.photos', card.photo_count)} · {say_n('page.findings', card.finding_count)}")
        for part in entry.where.parts_out:
            name = part.person.name if part.person else say("board.somebody")
            st.caption(plain(say("board.part_out", what=part.words, name=name)))
        for text in entry.words:
            st.caption(plain(say("board.found", text=text[:SHOWN_LETTERS])))
        if st.button(say("board.open"), key=f"open-{card.job.id}", width="stretch"):
            go("before-buying" if entry.group == "looked at" else "examination", card.job)


def _turn(entry: BoardEntry) -> str:
    """Whose turn it is, since when and until when, in one line."""
    named = f"board.waits_{entry.waits}_named"
    said = say(named, name=entry.waits_on.name) if entry.waits_on else say(f"board.waits_{entry.waits}")
    since = say("board.since", day=local_day(entry.where.since)) if entry.where.handover else ""
    due = say("board.due", day=entry.where.due) if entry.where.place == "out" and entry.where.due else ""
    return " · ".join(line for line in (said, since, due) if line)


def _new_job(*, open_it: bool) -> None:
    st.markdown(f"### {say('board.new')}")
    with st.form("new-job", border=False, clear_on_submit=False):
        title = st.text_input(say("board.title"), placeholder=say("board.title_hint"))
        left, right = st.columns(2)
        name = left.text_input(say("board.name"), next_job_name(desk()), placeholder=say("board.name_hint"))
        family = right.selectbox(say("board.family"), FAMILIES, index=None, placeholder=say("board.family_hint"))
        client = st.text_input(say("board.client"))
        if st.form_submit_button(say("board.open_new"), type="primary"):
            with told():
                job = open_job(desk(), name, title=title, family=family or "other", client_name=client)
                go("instrument", job)


def _demo() -> None:
    st.markdown(f"### {say('board.demo')}")
    st.write(say("board.demo_words"))
    if demo_is_here(desk()):
        st.caption(say("board.demo_here"))
        return
    if st.button(say("board.demo_open")):
        with told():
            bar = st.progress(0.0, say("board.demo_working"))
            open_demo(desk(), progress=lambda share: bar.progress(share, say("board.demo_working")))
            again()

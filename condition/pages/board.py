"""The bench: every job, and a new one."""

from __future__ import annotations

import streamlit as st

from condition.flow.demo import demo_is_here, open_demo
from condition.flow.jobs import JobCard, all_jobs, open_job
from condition.pages.frame import desk, go, picture, plain, told
from condition.records.instrument import FAMILIES
from condition.words import say, say_n

ACROSS = 3


def show() -> None:
    st.markdown(f"## {say('board.heading')}")
    jobs = all_jobs(desk())
    if not jobs:
        st.write(say("board.empty"))
    rows = [jobs[i : i + ACROSS] for i in range(0, len(jobs), ACROSS)]
    for row in rows:
        for column, card in zip(st.columns(ACROSS), row, strict=False):
            with column:
                _card(card)
    left, right = st.columns([3, 2], gap="large")
    with left, st.container(border=True):
        _new_job(open_it=not jobs)
    with right, st.container(border=True):
        _demo()


def _card(card: JobCard) -> None:
    with st.container(border=True, key=f"job-{card.job.id}"):
        if card.cover:
            st.markdown(picture(f"/bench/thumb/{card.cover.id}", card.instrument.title))
        st.markdown(f"### {plain(card.instrument.title)}")
        who = card.client.name if card.client else say("page.own_stock") if card.job.own_stock else ""
        lines = [plain(card.job.name), plain(who), card.job.opened_at[:10]]
        st.caption(" · ".join(line for line in lines if line))
        st.caption(f"{say_n('page.photos', card.photo_count)} · {say_n('page.findings', card.finding_count)}")
        if st.button(say("board.open"), key=f"open-{card.job.id}", width="stretch"):
            go("examination", card.job)


def _new_job(*, open_it: bool) -> None:
    st.markdown(f"### {say('board.new')}")
    with st.form("new-job", border=False, clear_on_submit=False):
        title = st.text_input(say("board.title"), placeholder=say("board.title_hint"))
        left, right = st.columns(2)
        name = left.text_input(say("board.name"), placeholder=say("board.name_hint"))
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
            st.rerun()

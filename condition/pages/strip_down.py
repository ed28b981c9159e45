"""The strip-down: a step in seconds, with dirty hands; and the same log backwards, to put together by."""

from __future__ import annotations

from functools import partial

import streamlit as st

from condition.flow.parts import parts_of
from condition.flow.strip_down import account_of, bring_step_back, over_in_words, reassembly, steps_of
from condition.pages.bag_rows import show_bags
from condition.pages.frame import desk, job_heading, plain
from condition.pages.new_step import new_step
from condition.pages.put_back import offer_back
from condition.pages.reassembly_rows import step_to_put_back
from condition.pages.step_rows import step_that_came_off
from condition.records.job import Job
from condition.words import say, say_n

APART, TOGETHER = "apart", "together"


def show() -> None:
    card = job_heading()
    if card is None:
        return
    way = st.segmented_control(
        say("strip_down.way"),
        (APART, TOGETHER),
        default=st.session_state.get("strip-way", APART),
        format_func=lambda way: say(f"strip_down.{way}"),
        key="strip-down-way",
        label_visibility="collapsed",
        required=True,
    )
    st.session_state["strip-way"] = way
    if way == TOGETHER:
        _together(card.job)
    else:
        _apart(card.job)


def _apart(job: Job) -> None:
    left, right = st.columns([5, 6], gap="large")
    steps = steps_of(desk(), job)
    with left:
        new_step(desk(), job, parts_of(desk(), job))
        show_bags(desk(), job)
    with right:
        st.markdown(f"### {say_n('strip_down.log', len(steps))}")
        offer_back("strip-down", partial(bring_step_back, desk()))
        if not steps:
            st.write(say("strip_down.none_yet"))
        names = {part.id: part.name for part in parts_of(desk(), job)}
        for step in reversed(steps):
            step_that_came_off(desk(), job, step, names)


def _together(job: Job) -> None:
    steps = reassembly(desk(), job)
    if not steps:
        st.write(say("strip_down.nothing_off"))
        return
    left = account_of(desk(), job)
    done = sum(step.back for step in steps)
    st.progress(done / len(steps), say("strip_down.progress", done=done, total=len(steps)))
    next_one = next((step.id for step in steps if not step.back), None)
    for step in steps:
        step_to_put_back(desk(), job, step, is_next=step.id == next_one)
    first, *rest = over_in_words(left)
    show_it = st.success if left.nothing_over else st.warning
    show_it("  \n".join((f"**{plain(first)}**", *(plain(line) for line in rest))))

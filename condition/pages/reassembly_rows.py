"""One step of the reassembly: what goes back, how many screws are in again, ticked off or not."""

from __future__ import annotations

import streamlit as st

from condition.flow.desk import Desk
from condition.flow.strip_down import put_back, take_tick_back
from condition.pages.frame import again, picture, plain, told
from condition.pages.step_rows import what_came_off
from condition.records.job import Job
from condition.records.strip_down import StripDownStep
from condition.words import say, say_n


def step_to_put_back(desk: Desk, job: Job, step: StripDownStep, *, is_next: bool) -> None:
    state = "back" if step.back and not step.screws_left else "over" if step.back else "next" if is_next else "waits"
    with st.container(border=True, key=f"together-{state}-{step.id}"):
        shown, words, tick = st.columns([2, 5, 3], vertical_alignment="center")
        if step.photo_id:
            shown.markdown(picture(f"/bench/thumb/{step.photo_id}", say("strip_down.layer", step=step.step_order)))
        with words:
            what_came_off(desk, step)
            if step.back and step.screws_left:
                over = say_n("strip_down.over_screws", step.screws_left, step=step.step_order, what=step.what)
                st.markdown(f":material/warning: **{plain(over)}** {plain(step.over_reason)}")
        with tick:
            _ticked(desk, step) if step.back else _to_tick(desk, step, is_next=is_next)


def _ticked(desk: Desk, step: StripDownStep) -> None:
    st.markdown(
        f":material/check_circle: {say('strip_down.is_back')}  \n:gray[{plain(step.back_by)} {step.back_at[:10]}]"
    )
    if st.button(say("strip_down.untick"), key=f"untick-{step.id}"):
        with told():
            take_tick_back(desk, step)
            again()


def _to_tick(desk: Desk, step: StripDownStep, *, is_next: bool) -> None:
    counts = [
        st.number_input(
            say("strip_down.screws_back", hole=one.hole or say("strip_down.screws"), count=one.count),
            0,
            one.count,
            one.count,
            key=f"back-{step.id}-{step.version}-{k}",
        )
        for k, one in enumerate(step.screws)
    ]
    why = ""
    if sum(counts) < step.screw_count:
        why = st.text_input(say("strip_down.why_over"), key=f"why-{step.id}-{step.version}")
    if st.button(
        say("strip_down.put_back"), key=f"tick-{step.id}", type="primary" if is_next else "secondary", width="stretch"
    ):
        with told():
            put_back(desk, step, counts, over_reason=why)
            again()

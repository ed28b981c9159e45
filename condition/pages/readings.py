"""Readings: what is wanted known before the strings come off, in order; and before and after side by side."""

from __future__ import annotations

from collections.abc import Callable

import streamlit as st

from condition.flow.before_strings import Step, before_strings
from condition.flow.bench_sheet import bench_sheet
from condition.flow.readings import OCCASIONS
from condition.pages import board_rows, coil_rows, function_rows, setup_rows
from condition.pages.frame import desk, job_heading
from condition.pages.side_by_side import side_by_side
from condition.records.job import Job
from condition.records.reading import Occasion
from condition.words import say

SHOWN: dict[Step, Callable[[Job, Occasion], None]] = {
    "air": setup_rows.air,
    "strings": board_rows.strings,
    "function": function_rows.function_test,
    "coil": coil_rows.coils,
    "setup": setup_rows.setup,
    "board": board_rows.board,
}


BEFORE_AND_AFTER = "side_by_side"


def show() -> None:
    card = job_heading()
    if card is None:
        return
    occasion = st.segmented_control(
        say("readings.occasion"),
        OCCASIONS,
        default=OCCASIONS[0],
        format_func=lambda one: say(f"readings.occasion_{one}"),
        key=f"bench-occasion-{card.job.id}",
    )
    occasion = occasion or OCCASIONS[0]
    left, right = st.columns([2, 5], gap="large")
    with left:
        chosen = _order(card.job, occasion)
    wide = chosen == BEFORE_AND_AFTER
    with st.container() if wide else right, st.container(border=True, key=f"bench-{chosen}"):
        if wide:
            side_by_side(bench_sheet(desk(), card.job))
        else:
            st.markdown(f"### {say(f'readings.step_{chosen}')}")
            SHOWN[chosen](card.job, occasion)
            _next(chosen)


def _order(job: Job, occasion: Occasion) -> str:
    """The list in its order, each line a button: what is there, what is wanting, what goes with the strings."""
    st.markdown(f"### {say('readings.order' if occasion == 'intake' else 'readings.order_again')}")
    states = before_strings(desk(), job, occasion)
    chosen = st.session_state.get("reading-step", states[0].step)
    with st.container(key="bench-order"):
        for number, state in enumerate(states, 1):
            sign = "☑" if state.done else "◧" if state.begun else "☐"
            how = "readings.there" if state.done else "readings.begun" if state.begun else "readings.wanting"
            lost = state.goes_with_strings and not state.done and occasion == "intake"
            warn = f" · {say('readings.with_strings')}" if lost else ""
            label = f"{number} {sign} **{say(f'readings.step_{state.step}')}** :small[{say(how)}{warn}]"
            _button(label, state.step, chosen)
        if occasion != OCCASIONS[0] or bench_sheet(desk(), job).later:
            _button(f"**{say('readings.side_by_side')}**", BEFORE_AND_AFTER, chosen)
    if occasion == "intake":
        st.info(say("readings.goes_with_strings"))
    return chosen


def _button(label: str, step: str, chosen: str) -> None:
    def choose() -> None:
        st.session_state["reading-step"] = step

    kind = "primary" if step == chosen else "secondary"
    st.button(label, key=f"go-{step}", type=kind, width="stretch", on_click=choose)


def _next(chosen: Step) -> None:
    """On to the next step, so that the list can be worked through without going back to it."""
    steps = list(SHOWN)
    following = steps[steps.index(chosen) + 1 :]
    if following:
        label = say("readings.next", step=say(f"readings.step_{following[0]}"))
        st.button(label, key="bench-next", on_click=lambda: st.session_state.update({"reading-step": following[0]}))

"""The function test: one tap for each thing tried."""

from __future__ import annotations

from functools import partial

import streamlit as st

from condition.flow.function_test import RESULTS_FOR, add_test, lay_out, listed, remove_test, tried
from condition.flow.undo import put_back
from condition.pages.frame import again, desk, plain, told
from condition.pages.put_back import offer_back, taken_away
from condition.pages.typed_field import typed_field
from condition.records.function_test import FunctionTest
from condition.records.job import Job
from condition.records.reading import Occasion
from condition.words import say

GROUPS = ("switch", "control", "jack", "tuner", "truss rod", "other")


def function_test(job: Job, occasion: Occasion) -> None:
    tests = listed(desk(), job, occasion)
    if not tests:
        _begin(job, occasion)
        return
    for test in tests:
        _row(test)
    offer_back(f"tests-{occasion}", partial(put_back, desk(), FunctionTest))
    with st.popover(say("function_test.add"), key=f"bench-add-test-{occasion}"):
        group = st.selectbox(
            say("function_test.group"), GROUPS, format_func=lambda g: say(f"function_test.group_{g.replace(' ', '_')}")
        )
        item = st.text_input(say("function_test.item"), placeholder=say("function_test.item_hint"))
        if st.button(say("function_test.add_it"), key=f"add-test-{occasion}"):
            with told():
                add_test(desk(), job, group, item, occasion)
                again()


def _begin(job: Job, occasion: Occasion) -> None:
    """Lay the list out: with or without electrics, whichever the instrument has."""
    st.write(say("function_test.begin"))
    with st.container(horizontal=True, key="bench-lay-out"):
        for code, electric in (("function_test.lay_electric", True), ("function_test.lay_acoustic", False)):
            if st.button(say(code), key=code, type="primary" if electric is False else "secondary"):
                with told():
                    lay_out(desk(), job, occasion, electric=electric)
                    again()


def _row(test: FunctionTest) -> None:
    key = f"t-{test.id}-{test.version}"

    def keep() -> None:
        with told():
            tried(desk(), test, st.session_state[key] or "not tried")

    left, middle, right = st.columns([6, 3, 1], vertical_alignment="bottom")
    with left:
        st.pills(
            plain(test.item),
            RESULTS_FOR[test.group],
            default=test.result,
            format_func=lambda result: say(f"function_test.{result.replace(' ', '_')}"),
            key=key,
            on_change=keep,
        )
    with middle:
        note = f"n-{test.id}-{test.version}"
        typed_field(say("function_test.note"), note, test.note, lambda text: tried(desk(), test, test.result, text))
    with right:
        if st.button("✕", key=f"x-{test.id}", help=say("function_test.remove", item=test.item)):
            with told():
                remove_test(desk(), test)
                taken_away(f"tests-{test.occasion}", test.id, test.item)
                again()

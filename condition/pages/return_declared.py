"""Changes made on purpose and told beforehand: they explain what they explain and hide nothing."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import streamlit as st

from condition.flow.desk import Desk, new_id
from condition.flow.return_check import declare, edit_check, undeclare
from condition.pages.frame import again, desk, plain, told
from condition.records.photo import Photo
from condition.records.return_check import DeclaredChange, ReturnCheck
from condition.words import say, say_n

WHAT = ("new strings", "strings off", "top cleaned", "part swapped", "other")
DRAWING = "return-drawing"
"""Key of the declared change whose region is being drawn."""


def declared_changes(check: ReturnCheck) -> None:
    with st.expander(say_n("returns.declared", len(check.declared)), expanded=False):
        st.caption(say("returns.declared_help"))
        for one in check.declared:
            _one(check, one)
        _offer_undeclared(check)
        left, right = st.columns([3, 2], vertical_alignment="bottom")
        what = left.selectbox(
            say("returns.declare_what"), WHAT, format_func=lambda code: say(f"returns.declared_{code}"), key="declare"
        )
        if right.button(say("returns.declare"), key="declare-now", width="stretch"):
            with told():
                declare(desk(), check, DeclaredChange(new_id(), what))
                again()
        st.text_area(
            say("returns.words"),
            check.words,
            key=f"check-words-{check.id}",
            on_change=partial(_edit, desk(), check, "words", f"check-words-{check.id}"),
        )
        st.text_area(
            say("returns.not_compared"),
            check.not_compared,
            key=f"check-not-{check.id}",
            on_change=partial(_edit, desk(), check, "not_compared", f"check-not-{check.id}"),
        )


def _one(check: ReturnCheck, one: DeclaredChange) -> None:
    with st.container(border=True, key=f"declared-{one.id}"):
        left, right = st.columns([3, 2], vertical_alignment="bottom")
        left.text_input(
            say(f"returns.declared_{one.what}"),
            one.words,
            key=f"declared-words-{one.id}",
            on_change=partial(_words, desk(), check, one),
        )
        names = {region.photo_id: desk().store.one(Photo, id=region.photo_id) for region in one.regions}
        files = ", ".join(plain(photo.file_name) for photo in names.values() if photo)
        st.caption(say("returns.regions", files=files) if files else say(f"returns.no_region_{one.what}"))
        drawing = st.session_state.get(DRAWING) == one.id
        words = say("returns.stop_drawing") if drawing else say("returns.draw_region")
        if right.button(words, key=f"draw-{one.id}", width="stretch"):
            st.session_state[DRAWING] = None if drawing else one.id
            again()
        clear, away = st.columns(2)
        if one.regions and clear.button(say("returns.clear_regions"), key=f"clear-{one.id}", width="stretch"):
            with told():
                declare(desk(), check, replace(one, regions=()))
                again()
        if away.button(say("returns.undeclare"), key=f"undeclare-{one.id}", width="stretch"):
            with told():
                undeclare(desk(), check, one.id)
                st.session_state["return-undeclared"] = one
                again()


def _offer_undeclared(check: ReturnCheck) -> None:
    """Offer to put back what was taken away last."""
    gone = st.session_state.get("return-undeclared")
    if gone is not None and st.button(say("put_back.offer", what=say(f"returns.declared_{gone.what}"))):
        with told():
            declare(desk(), check, gone)
            del st.session_state["return-undeclared"]
            again()


def _words(at: Desk, check: ReturnCheck, one: DeclaredChange) -> None:
    with told():
        declare(at, check, replace(one, words=st.session_state[f"declared-words-{one.id}"].strip()))


def _edit(at: Desk, check: ReturnCheck, field: str, key: str) -> None:
    with told():
        edit_check(at, check, **{field: st.session_state[key].strip()})

"""An offer, where something was taken away, to put it back."""

from __future__ import annotations

from collections.abc import Callable

import streamlit as st

from condition.pages.frame import again, plain, told
from condition.words import say


def taken_away(place: str, record_id: str, name: str) -> None:
    """Remember what was taken away last at a place of the pages."""
    st.session_state[f"gone-{place}"] = (record_id, name)


def offer_back(place: str, put_back: Callable[[str], object]) -> None:
    """Offer to put back what was taken away last at this place; nothing when nothing was."""
    gone = st.session_state.get(f"gone-{place}")
    if gone is None:
        return
    record_id, name = gone
    if st.button(say("put_back.offer", what=plain(name)), key=f"back-{place}"):
        with told():
            put_back(record_id)
            del st.session_state[f"gone-{place}"]
            again()

"""A field that keeps what is typed as soon as it is left, and says under it why it cannot."""

from __future__ import annotations

from collections.abc import Callable

import streamlit as st

from condition.errors import ConditionError
from condition.words import say_error


def typed_field(label: str, key: str, value: str, keep: Callable[[str], object], **more: object) -> None:
    """Show a text field; ``keep`` is called with the text when it changes.

    A text that is refused stays in the field with the sentence below it; what was kept before is untouched.
    """

    def changed() -> None:
        st.session_state[f"refused-{key}"] = kept_or_told(lambda: keep(st.session_state[key]))

    st.text_input(label, value, key=key, on_change=changed, **more)
    refused = st.session_state.get(f"refused-{key}")
    if refused:
        st.error(refused)


def kept_or_told(keep: Callable[[], object]) -> str:
    """Do it, and return the sentence of a refusal, empty when it was done."""
    try:
        keep()
    except ConditionError as error:
        return say_error(error)
    return ""

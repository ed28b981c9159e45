"""Cautions shown short beside the thing that needs them; a tap tells more, with the source."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from condition.flow.cautions import Caution
from condition.pages.frame import plain
from condition.words import say


def show_cautions(cautions: Sequence[Caution], key: str) -> None:
    """Show each caution's title in one row; each opens to its sentence, its source and who decides."""
    if not cautions:
        return
    with st.container(horizontal=True, key=f"cautions-{key}", gap="small", width="content"):
        for caution in cautions:
            with st.popover(f":material/warning: {say(f'caution.title {caution.code}')}"):
                st.write(say(f"caution.{caution.code}"))
                st.caption(plain(say("caution.source", source=caution.source)))
                st.caption(say("caution.who decides"))

"""Size cards to print, and what the print measures."""

from __future__ import annotations

from dataclasses import replace

import streamlit as st

from condition.flow.printing import card_sheet_pdf
from condition.flow.shop import keep_shop, shop
from condition.pages.frame import desk, picture, told
from condition.words import say


def show() -> None:
    st.markdown(f"## {say('cards_page.heading')}")
    left, right = st.columns([2, 3], gap="large")
    known = shop(desk())
    with left:
        st.write(say("cards_page.how"))
        paper = st.segmented_control(
            say("cards_page.paper"), ["a4", "letter"], default=known.paper, format_func=lambda p: say(f"cards_page.{p}")
        )
        st.download_button(
            say("cards_page.download"),
            lambda: card_sheet_pdf(paper or known.paper),
            file_name=f"size-cards-{paper or known.paper}.pdf",
            mime="application/pdf",
            type="primary",
        )
        st.markdown(f"### {say('cards_page.check')}")
        st.write(say("cards_page.check_words"))
        with st.form("check-line", border=False):
            line = st.number_input(
                say("cards_page.line"), 90.0, 110.0, known.check_line_mm, 0.1, format="%.1f", placeholder="100.0"
            )
            if st.form_submit_button(say("cards_page.keep")):
                with told():
                    keep_shop(desk(), replace(known, check_line_mm=line, paper=paper or known.paper))
                    st.toast(say("cards_page.kept"))
    with right:
        st.markdown(picture(f"/bench/cards/{paper or known.paper}.svg", say("cards_page.sheet")))

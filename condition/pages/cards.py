"""Size cards to print, and what the print measures."""

from __future__ import annotations

from dataclasses import replace

import streamlit as st

from condition.flow.lenses import cameras, forget_lens, learn_lens
from condition.flow.printing import card_sheet_pdf
from condition.flow.shop import keep_shop, shop
from condition.pages.frame import again, desk, picture, plain, told
from condition.words import say, say_n


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
        _lenses()
    with right:
        st.markdown(picture(f"/bench/cards/{paper or known.paper}.svg", say("cards_page.sheet")))


def _lenses() -> None:
    """What is known of each camera's lens, and learning it from the photos that show enough cards."""
    st.markdown(f"### {say('cards_page.lenses')}")
    st.write(say("cards_page.lenses_words"))
    for number, camera in enumerate(cameras(desk())):
        st.markdown(f"**{plain(' · '.join(part for part in (camera.camera, camera.lens) if part))}**")
        if camera.learned:
            known = camera.learned
            st.caption(
                say(
                    "cards_page.lens_known",
                    percent=f"{100 * known.k1:+.2f}",
                    within=f"{200 * known.k1_sd:.2f}",
                    photos=known.photo_count,
                )
            )
            if st.button(say("cards_page.forget"), key=f"forget-{number}"):
                with told():
                    forget_lens(desk(), known)
                    again()
        if st.button(say_n("cards_page.learn", len(camera.photos)), key=f"learn-{number}"):
            with told(), st.spinner(say("cards_page.learning")):
                learn_lens(desk(), camera)
                again()

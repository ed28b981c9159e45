"""The scale of a photo without cards: what lies between the nut and the saddle, or between the nut and a fret."""

from __future__ import annotations

import streamlit as st

from condition.flow.desk import Desk
from condition.flow.jobs import job_card
from condition.flow.known_lengths import SADDLE, from_nut, lend_length
from condition.pages.frame import again, told
from condition.records.job import Job
from condition.records.photo import Photo
from condition.words import say

USUAL_WITHIN_MM = 2.0
HIGHEST_FRET = 36


def known_length(desk: Desk, photo: Photo) -> None:
    """Let the person say the string length and which two places the line will join."""
    instrument = job_card(desk, desk.store.get(Job, photo.job_id)).instrument
    with st.popover(say("photos.known"), width="stretch"):
        st.write(say("photos.known_words"))
        if photo.known_distance_mm is not None:
            st.caption(
                say(
                    "photos.known_now",
                    mm=f"{photo.known_distance_mm:.1f}",
                    within=f"{2 * photo.known_distance_sd_mm:.1f}",
                )
            )
        fret = st.selectbox(
            say("photos.known_to"),
            (SADDLE, 12, *(n for n in range(1, HIGHEST_FRET + 1) if n != 12)),
            format_func=lambda n: say("photos.known_fret", fret=n) if n else say("photos.known_saddle"),
            key=f"fret-{photo.id}",
        )
        left, right = st.columns(2)
        length = left.number_input(
            say("photos.known_string"),
            50.0,
            2000.0,
            instrument.string_length_mm,
            0.5,
            format="%.1f",
            key=f"string-{photo.id}",
        )
        within = right.number_input(
            say("photos.known_within"), 0.1, 50.0, USUAL_WITHIN_MM, 0.5, format="%.1f", key=f"string-within-{photo.id}"
        )
        if fret != SADDLE:
            st.caption(say("photos.known_rule"))
        if st.button(say("photos.known_keep"), key=f"lend-{photo.id}", type="primary"):
            if not length:
                st.error(say("photos.known_no_length"))
                return
            with told():
                lend_length(desk, photo, from_nut(length, fret, within))
                again()

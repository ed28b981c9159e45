"""A bench video on the photos page: its best frames come in as photos."""

from __future__ import annotations

import streamlit as st

from condition.flow.jobs import view_named
from condition.flow.stills import USUAL_COUNT, begin_stills, forget_stills, kept_aside, moments, stills_at_work
from condition.pages.frame import again, desk, plain, told
from condition.records.job import Job
from condition.words import say, say_error, say_n

VIDEOS = ("mp4", "mov", "m4v", "mkv", "webm", "avi")
MOST = 24


def video_stills(job: Job, face: str | None = None) -> None:
    """Show the way in for a video; ``face`` is the name of the view its stills show, where it is known."""
    going = stills_at_work(job)
    with st.expander(say("stills.heading"), expanded=going is not None):
        if going is None:
            _ask(job, face)
        elif not going.done:
            _watch(job)
        else:
            _tell(job)


def _ask(job: Job, face: str | None) -> None:
    turn = st.session_state.get("video-turn", 0)
    video = st.file_uploader(say("stills.drop"), type=VIDEOS, key=f"video-{turn}")
    left, right = st.columns([3, 1])
    at = left.text_input(say("stills.moments"), placeholder=say("stills.moments_hint"), key=f"video-at-{turn}")
    most = right.number_input(say("stills.count"), 1, MOST, USUAL_COUNT, key=f"video-most-{turn}", disabled=bool(at))
    if st.button(say("stills.take"), type="primary", disabled=video is None):
        with told():
            wanted = moments(at)
            view = view_named(desk(), job, face).id if face else None
            path = kept_aside(desk(), video, video.name)
            begin_stills(desk(), job, video.name, path, moments_s=wanted, most=int(most), view_id=view)
            st.session_state["video-turn"] = turn + 1
            again()


@st.fragment(run_every=1.0)
def _watch(job: Job) -> None:
    going = stills_at_work(job)
    if going is None or going.done:
        again()
    st.info(say("stills.looking", file=plain(going.file_name)))


def _tell(job: Job) -> None:
    going = stills_at_work(job)
    if going is None:
        return
    if going.error is not None:
        st.error(plain(say_error(going.error)))
    else:
        st.success(say_n("stills.taken", len(going.taken), file=plain(going.file_name)))
        if not any(one.cards for one in going.taken):
            st.caption(say("stills.none_with_cards"))
    if st.button(say("stills.understood"), key="video-understood"):
        forget_stills(job)
        again()

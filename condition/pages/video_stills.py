"""A bench video on the photos page: its best frames come in as photos."""

from __future__ import annotations

from functools import partial

import streamlit as st

from condition.flow.jobs import view_named
from condition.flow.stills import USUAL_COUNT, begin_stills, moments, share_looked_at, video_of
from condition.flow.tasks import put_away, stop
from condition.pages.frame import again, desk, plain, told
from condition.records.job import Job
from condition.records.task import Task
from condition.words import say, say_n

VIDEOS = ("mp4", "mov", "m4v", "mkv", "webm", "avi")
MOST = 24


def video_stills(job: Job, face: str | None = None) -> None:
    """Show the way in for a video; ``face`` is the name of the view its stills show, where it is known."""
    task = video_of(desk(), job)
    with st.expander(say("stills.heading"), expanded=task is not None):
        if task is None:
            _ask(job, face)
        elif task.state == "running":
            _watch(job)
        else:
            _tell(task)


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
            begin_stills(desk(), job, video.name, video, moments_s=wanted, most=int(most), view_id=view)
            st.session_state["video-turn"] = turn + 1
            again()


@st.fragment(run_every=1.0)
def _watch(job: Job) -> None:
    task = video_of(desk(), job)
    if task is None or task.state != "running":
        again()
    if task.video.done:
        done, total = task.done_count - 1, len(task.items) - 1
        st.progress(done / total if total else 1.0, say("photos.progress", done=done, total=total))
    else:
        st.progress(share_looked_at(desk(), task), say("stills.looking", file=plain(task.video.name)))
    if st.button(say("stills.stop"), key="video-stop"):
        stop(task)


def _tell(task: Task) -> None:
    video, stills = task.video, [item for item in task.items if item.still is not None]
    kept = [item for item in stills if item.photo_id and not item.told[0]]
    for item in (video, *stills):
        if item.told[0]:
            tell = st.info if item.photo_id else st.error
            tell(plain(say(item.told[0], **dict(item.told[1]))))
    if task.state == "stopped":
        st.info(say("stills.stopped", file=plain(video.name)))
    if kept:
        st.success(say_n("stills.taken", len(kept), file=plain(video.name)))
        if not any(item.still.cards for item in kept):
            st.caption(say("stills.none_with_cards"))
    st.button(say("stills.understood"), key="video-understood", on_click=partial(put_away, desk(), task))

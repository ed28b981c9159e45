"""The return check: what comes back is photographed again, and every difference is told, decided and put on paper."""

from __future__ import annotations

from functools import partial

import streamlit as st

from condition.flow.desk import Desk
from condition.flow.intake import begin_take_in, task_of
from condition.flow.return_changes import changes_of
from condition.flow.return_check import checks_of, open_check, photos_of
from condition.flow.return_doubt import doubt_of
from condition.flow.return_verdicts import verdicts_of
from condition.flow.tasks import put_away, stop
from condition.pages.frame import again, desk, job_heading, plain, told
from condition.pages.return_changes_list import changes_list
from condition.pages.return_declared import declared_changes
from condition.pages.return_pairs import pairs_block, results_ready
from condition.pages.return_papers import papers
from condition.pages.return_rest import the_rest
from condition.pages.return_summary import summary
from condition.pages.return_verdict_list import verdict_list
from condition.pages.return_viewer import viewer
from condition.records.job import Job
from condition.records.return_check import OCCASIONS, ReturnCheck
from condition.words import say, say_n


def show() -> None:
    card = job_heading()
    if card is None:
        return
    check = _chosen_check(card.job)
    if check is None:
        return
    if not results_ready(check):
        _arrivals(card.job, check)
        pairs_block(check)
        declared_changes(check)
        st.caption(say("returns.nothing_yet"))
        return
    changes, verdicts = changes_of(desk(), check), verdicts_of(desk(), check)
    first, groups = doubt_of(desk(), check, changes)
    summary(check, verdicts, changes, first, groups)
    pairs_block(check, partial(_arrivals, card.job, check))
    declared_changes(check)
    viewer(check, changes, first)
    left, right = st.columns([1, 1], gap="large")
    with left:
        changes_list(check, changes, first, groups)
    with right:
        verdict_list(check, verdicts)
    the_rest(card.job, check)
    papers(card.job, check)


def _chosen_check(job: Job) -> ReturnCheck | None:
    """The two handovers to compare; the newest check is shown first."""
    known = checks_of(desk(), job)
    newest = known[-1] if known else None
    left, right = st.columns(2)
    earlier = left.selectbox(
        say("returns.earlier"),
        OCCASIONS[:-1],
        OCCASIONS.index(newest.earlier) if newest else 0,
        format_func=_occasion,
        key=f"earlier-{job.id}",
    )
    later_ones = OCCASIONS[OCCASIONS.index(earlier) + 1 :]
    wanted = newest.later if newest and newest.later in later_ones else later_ones[-1]
    later = right.selectbox(
        say("returns.later"),
        later_ones,
        later_ones.index(wanted),
        format_func=_occasion,
        key=f"later-{job.id}-{earlier}",
    )
    with told():
        return open_check(desk(), job, earlier, later)
    return None


def _occasion(code: str) -> str:
    return say(f"returns.occasion_{code}")


def _arrivals(job: Job, check: ReturnCheck) -> None:
    """Photos dropped here are photos of the later handover."""
    earlier, later = photos_of(desk(), check)
    with st.container(border=True, key="return-arrivals"):
        files = st.file_uploader(
            say("returns.drop", what=_occasion(check.later)),
            accept_multiple_files=True,
            key=f"return-drop-{st.session_state.get('return-drop', 0)}",
        )
        if files and st.button(say_n("photos.take_in", len(files)), type="primary", key="return-take-in"):
            with told():
                arrived = [(file.name, file.getvalue()) for file in files]
                begin_take_in(desk(), job, arrived, occasion=check.later)
                st.session_state["return-drop"] = st.session_state.get("return-drop", 0) + 1
                again()
        _watch(desk(), job)
        st.caption(say("returns.photos_there", earlier=len(earlier), later=len(later)))


def _watch(at: Desk, job: Job) -> None:
    task = task_of(at, job)
    if task is None:
        return
    if task.state == "running":
        _watch_running(job)
        return
    for item in task.items:
        if item.told[0]:
            tell = st.info if item.photo_id else st.error
            tell(plain(say(item.told[0], **dict(item.told[1]))))
    taken = sum(1 for item in task.items if item.photo_id and not item.told[0])
    if taken:
        st.success(say_n("photos.taken_in", taken))
    st.button(say("photos.understood"), key="return-understood", on_click=partial(put_away, at, task))


@st.fragment(run_every=0.7)
def _watch_running(job: Job) -> None:
    task = task_of(desk(), job)
    if task is None or task.state != "running":
        again()
    st.progress(task.done_count / len(task.items), say("photos.progress", done=task.done_count, total=len(task.items)))
    if st.button(say("photos.stop"), key="return-stop-photos"):
        stop(task)

"""Photos of the job: taken in, judged at once, given their face and their scale."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import streamlit as st

from condition.flow.desk import Desk
from condition.flow.intake import begin_take_in, task_of
from condition.flow.jobs import view_named, views_of
from condition.flow.photos import arrange, remove_photo
from condition.flow.scales import set_scale
from condition.flow.tasks import put_away, stop
from condition.pages.card_choice import choose_cards, in_several_planes
from condition.pages.frame import again, desk, job_heading, plain, told
from condition.pages.frame import picture as picture_of
from condition.pages.known_length import known_length
from condition.pages.scale_words import (
    advice_beside_the_scale,
    scale_line,
    show_scale,
    tell_scale,
    wants_camera_distance,
)
from condition.pages.video_stills import video_stills
from condition.records.job import Job
from condition.records.photo import Photo
from condition.records.task import Task
from condition.records.view import VIEW_NAMES, View
from condition.words import say, say_n

LIGHTS = ("daylight", "raking", "ultraviolet", "transmitted", "other")


def show() -> None:
    card = job_heading()
    if card is None:
        return
    _arrivals(card.job)
    photos = desk().store.find(Photo, job_id=card.job.id)
    if not photos:
        st.write(say("photos.none"))
        return
    views = views_of(desk(), card.job)
    for photo in photos:
        _photo_card(card.job, photo, views)


def _arrivals(job: Job) -> None:
    with st.container(border=True, key="arrivals"):
        left, right = st.columns([3, 2], gap="large")
        with left:
            files = st.file_uploader(
                say("photos.drop"), accept_multiple_files=True, key=f"drop-{st.session_state.get('drop', 0)}"
            )
        with right:
            view = st.selectbox(
                say("photos.face_of_these"),
                _face_names(views_of(desk(), job)),
                index=None,
                accept_new_options=True,
                placeholder=say("photos.face_later"),
            )
            camera = st.toggle(say("photos.use_camera"))
        snap = st.camera_input(say("photos.camera")) if camera else None
        arrived = [(file.name, file.getvalue()) for file in files or ()]
        if snap is not None:
            arrived.append((say("photos.snap_name"), snap.getvalue()))
        if arrived and st.button(say_n("photos.take_in", len(arrived)), type="primary"):
            with told():
                face = view_named(desk(), job, view).id if view else None
                begin_take_in(desk(), job, arrived, view_id=face)
                st.session_state["drop"] = st.session_state.get("drop", 0) + 1
                again()
        _watch(job)
        video_stills(job, view)


def _watch(job: Job) -> None:
    task = task_of(desk(), job)
    if task is None:
        return
    if task.state == "running":
        _watch_running(job)
    else:
        _told_by(task)


@st.fragment(run_every=0.7)
def _watch_running(job: Job) -> None:
    task = task_of(desk(), job)
    if task is None or task.state != "running":
        again()
    done, total = task.done_count, len(task.items)
    st.progress(done / total, say("photos.progress", done=done, total=total))
    if st.button(say("photos.stop"), key="stop-task"):
        stop(task)


def _told_by(task: Task) -> None:
    taken = sum(1 for item in task.items if item.photo_id and not item.told[0])
    if taken:
        st.success(say_n("photos.taken_in", taken))
    for item in task.items:
        if item.told[0]:
            tell = st.info if item.photo_id else st.error
            tell(plain(say(item.told[0], **dict(item.told[1]))))
    st.button(say("photos.understood"), key="understood", on_click=partial(put_away, desk(), task))


def _photo_card(job: Job, photo: Photo, views: tuple[View, ...]) -> None:
    with st.container(border=True, key=f"photo-{photo.id}"):
        picture, facts, edits = st.columns([2, 4, 3], gap="medium")
        with picture:
            st.markdown(picture_of(f"/bench/thumb/{photo.id}", photo.caption or photo.file_name))
        with facts:
            st.markdown(f"**{plain(photo.file_name)}**")
            when = say("photos.taken", when=photo.taken, zone=photo.taken_offset or say("photos.no_zone"))
            st.caption(
                " · ".join(
                    part
                    for part in (
                        when if photo.taken else say("photos.no_date"),
                        f"{photo.width} × {photo.height} px",
                        plain(photo.camera),
                    )
                    if part
                )
            )
            st.markdown(scale_line(photo))
            for code, values in advice_beside_the_scale(photo):
                st.markdown(f"- {plain(say(code, **dict(values)))}")
            tell_scale(desk(), photo)
            if photo.plane is not None and st.button(say("photos.show_scale"), key=f"scale-{photo.id}"):
                show_scale(desk(), photo)
        with edits:
            _edits(job, photo, views)


def _edits(job: Job, photo: Photo, views: tuple[View, ...]) -> None:
    names = _face_names(views)
    current = next((view.name for view in views if view.id == photo.view_id), None)
    st.selectbox(
        say("photos.face"),
        names,
        index=names.index(current) if current else None,
        accept_new_options=True,
        key=f"face-{photo.id}",
        on_change=partial(_set_face, desk(), job, photo),
    )
    left, right = st.columns(2)
    left.number_input(
        say("photos.height"),
        -20.0,
        400.0,
        photo.surface_height_mm,
        0.5,
        format="%.1f",
        key=f"height-{photo.id}",
        help=say("photos.height_help"),
        on_change=partial(_set_height, desk(), photo),
        disabled=not photo.cards,
    )
    if wants_camera_distance(photo):
        st.number_input(
            say("photos.camera_distance"),
            30.0,
            20000.0,
            photo.camera_distance_mm,
            10.0,
            format="%.0f",
            key=f"camera-{photo.id}",
            placeholder=say("photos.camera_distance_none"),
            help=say("photos.camera_distance_help"),
            on_change=partial(_set_camera_distance, desk(), photo),
        )
    right.selectbox(
        say("photos.light"),
        LIGHTS,
        LIGHTS.index(photo.light),
        key=f"light-{photo.id}",
        on_change=partial(_set, desk(), photo, "light", f"light-{photo.id}"),
    )
    st.text_input(
        say("photos.caption"),
        photo.caption,
        key=f"caption-{photo.id}",
        on_change=partial(_set, desk(), photo, "caption", f"caption-{photo.id}"),
    )
    if not any(not card.left_out for card in photo.cards):
        known_length(desk(), photo)
    elif in_several_planes(photo):
        choose_cards(desk(), photo)
    if st.button(say("photos.remove"), key=f"remove-{photo.id}"):
        with told():
            remove_photo(desk(), photo)
            again()


def _face_names(views: tuple[View, ...]) -> list[str]:
    return list(dict.fromkeys((*VIEW_NAMES, *(view.name for view in views))))


def _set(at: Desk, photo: Photo, field: str, key: str) -> None:
    with told():
        arrange(at, photo, **{field: st.session_state[key]})


def _set_face(at: Desk, job: Job, photo: Photo) -> None:
    with told():
        name = st.session_state[f"face-{photo.id}"]
        arrange(at, photo, view_id=view_named(at, job, name).id if name else None)


def _set_camera_distance(at: Desk, photo: Photo) -> None:
    with told():
        set_scale(at, replace(photo, camera_distance_mm=st.session_state[f"camera-{photo.id}"]))


def _set_height(at: Desk, photo: Photo) -> None:
    with told():
        set_scale(at, replace(photo, surface_height_mm=float(st.session_state[f"height-{photo.id}"] or 0.0)))

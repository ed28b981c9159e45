"""Photos that come in by themselves: a phone let in through its door, a folder that is watched."""

from __future__ import annotations

from datetime import datetime

import streamlit as st

from condition.flow.door import open_door, own_addresses, remember, shut_door, the_door, token_of
from condition.flow.jobs import view_named, views_of
from condition.flow.phone import bring_note_back, let_in, notes_of, passes_of, put_note_away, withdraw
from condition.flow.printing import qr_svg
from condition.flow.watched import keep_watch, leave_off, watch, watched
from condition.pages.frame import again, desk, job_heading, picture, plain, told
from condition.records.arrivals import PhonePass
from condition.records.job import Job
from condition.records.photo import Photo
from condition.records.view import VIEW_NAMES
from condition.words import say, say_n

OCCASIONS = ("intake", "strip-down", "out", "back", "returned", "other")
HOURS = (1, 4, 12)
ACROSS = 4
SHOWN = 12


def show() -> None:
    card = job_heading()
    if card is None:
        return
    left, right = st.columns([2, 3], gap="large")
    with left:
        _door(card.job)
        _folder(card.job)
    with right:
        _arrived(card.job)


def _door(job: Job) -> None:
    st.markdown(f"### {say('phone.heading')}")
    passes = passes_of(desk(), job)
    door = the_door()
    for one in passes:
        _pass(one)
    if passes:
        with st.expander(say("phone.another")):
            _let_in(job)
    else:
        st.write(say("phone.words"))
        _let_in(job)
    if door is not None and st.button(say("phone.shut"), key="shut-door"):
        for one in passes:
            withdraw(desk(), one)
        shut_door()
        again()


def _let_in(job: Job) -> None:
    addresses = own_addresses()
    if not addresses:
        st.info(say("phone.no_network"))
        return
    faces = list(dict.fromkeys((*VIEW_NAMES, *(view.name for view in views_of(desk(), job)))))
    with st.form("let-in", border=True):
        occasion = st.selectbox(
            say("phone.occasion"), OCCASIONS, format_func=lambda one: say(f"phone.occasion_{one.replace('-', '_')}")
        )
        face = st.selectbox(say("photos.face_of_these"), faces, index=None, placeholder=say("photos.face_later"))
        hours = st.segmented_control(
            say("phone.for_hours"), HOURS, default=HOURS[1], format_func=lambda n: say_n("phone.hours_n", n)
        )
        address = addresses[0]
        if len(addresses) > 1:
            address = st.selectbox(say("phone.address"), addresses)
        st.caption(say("phone.plain_http"))
        if st.form_submit_button(say("phone.let_in"), type="primary", width="stretch"):
            with told(), st.spinner(say("phone.opening")):
                open_door(desk().store.folder, address)
                view = view_named(desk(), job, face).id if face else None
                made, token = let_in(desk(), job, hours=hours or HOURS[0], occasion=occasion, view_id=view)
                remember(made.id, token)
                again()


def _pass(one: PhonePass) -> None:
    with st.container(border=True, key=f"pass-{one.id}"):
        door, token = the_door(), token_of(one.id)
        if door is not None and token is not None:
            st.markdown(f"**{say('phone.scan')}**")
            st.image(qr_svg(door.url(token)), width=300)
            st.caption(plain(door.url()))
        else:
            st.info(say("phone.code_gone"))
        occasion = say(f"phone.occasion_{one.occasion.replace('-', '_')}")
        st.caption(f"{occasion} · {say('phone.open_until', time=_local(one.expires_at))}")
        if st.button(say("phone.withdraw"), key=f"withdraw-{one.id}"):
            withdraw(desk(), one)
            again()


def _local(stamp: str) -> str:
    return datetime.fromisoformat(stamp).astimezone().strftime("%H:%M")


@st.fragment(run_every=2.0)
def _arrived(job: Job) -> None:
    """What has come in, the newest first; asked again every two seconds."""
    st.markdown(f"### {say('phone.arrived')}")
    photos = sorted(desk().store.find(Photo, job_id=job.id), key=lambda photo: photo.sheet_order, reverse=True)
    if not photos:
        st.write(say("phone.nothing_yet"))
    faces = {view.id: view.name for view in views_of(desk(), job)}
    for row in range(0, min(len(photos), SHOWN), ACROSS):
        for column, photo in zip(st.columns(ACROSS), photos[row : row + ACROSS], strict=False):
            with column:
                st.markdown(picture(f"/bench/thumb/{photo.id}", photo.caption or photo.file_name))
                st.caption(" · ".join(plain(one) for one in (faces.get(photo.view_id, ""), photo.file_name) if one))
    for taken in keep_watch(desk()).told:
        st.error(plain(say(taken.error.code, **taken.error.values)))
    _notes(job)


def _notes(job: Job) -> None:
    notes = notes_of(desk(), job)
    gone = st.session_state.get("note-gone")
    if notes or gone:
        st.markdown(f"### {say('phone.notes')}")
    if gone and st.button(say("phone.put_back"), key="note-back"):
        with told():
            st.session_state.pop("note-gone")
            bring_note_back(desk(), gone)
            again()
    for note in notes:
        with st.container(border=True, key=f"note-{note.id}"):
            st.markdown(plain(note.words))
            st.caption(say("phone.note_by", by=plain(note.written_by), when=_local(note.written_at)))
            if st.button(say("phone.put_away"), key=f"note-away-{note.id}"):
                put_note_away(desk(), note)
                st.session_state["note-gone"] = note.id
                again()


def _folder(job: Job) -> None:
    st.markdown(f"### {say('watched.heading')}")
    folder = watched(desk(), job)
    if folder is not None and folder.on:
        st.write(say("watched.watching", folder=plain(folder.path)))
        if st.button(say("watched.stop"), key="watch-stop"):
            leave_off(desk(), folder)
            again()
        return
    st.write(say("watched.words"))
    with st.form("watch", border=True):
        path = st.text_input(say("watched.folder"), folder.path if folder else "")
        if st.form_submit_button(say("watched.begin")):
            with told():
                watch(desk(), job, path)
                again()

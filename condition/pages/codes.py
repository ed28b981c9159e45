"""Stamps and codes: typed as read and decoded beside it, or left unread and why."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import streamlit as st

from condition.flow.codes import KINDS, decoded_for, keep_stamp, note_stamp, remove_stamp, stamps_of
from condition.flow.undo import put_back
from condition.pages.frame import again, desk, job_heading, picture, plain, told
from condition.pages.put_back import offer_back, taken_away
from condition.pages.typed_field import typed_field
from condition.records.job import Job
from condition.records.photo import Photo
from condition.records.stamp import Stamp
from condition.words import say


def show() -> None:
    card = job_heading()
    if card is None:
        return
    st.info(say("codes.before_reading"))
    stamps = stamps_of(desk(), card.job)
    for stamp in stamps:
        with st.container(border=True, key=f"bench-stamp-{stamp.id}"):
            _stamp(card.job, stamp)
    offer_back("stamps", partial(put_back, desk(), Stamp))
    _new(card.job)


def _new(job: Job) -> None:
    with st.container(border=True, key="bench-new-stamp"), st.form("new-stamp", border=False):
        st.markdown(f"### {say('codes.new')}")
        left, right = st.columns(2)
        part = left.text_input(say("codes.part"), placeholder=say("codes.part_hint"))
        kind = right.selectbox(say("codes.kind"), KINDS, format_func=lambda k: say(f"codes.kind_{k.replace(' ', '_')}"))
        typed = left.text_input(say("codes.typed"), placeholder=say("codes.typed_hint"))
        reason = right.text_input(say("codes.reason"), placeholder=say("codes.reason_hint"))
        read, unread = st.columns(2)
        read_it = read.form_submit_button(say("codes.keep_read"), type="primary", width="stretch")
        leave_it = unread.form_submit_button(say("codes.keep_unread"), width="stretch")
    if read_it or leave_it:
        with told():
            note_stamp(desk(), job, part, kind, "" if leave_it else typed, left_unread=leave_it, reason=reason)
            again()


def _stamp(job: Job, stamp: Stamp) -> None:
    base = f"st-{stamp.id}-{stamp.version}"

    def keep(field: str, value: object) -> None:
        keep_stamp(desk(), replace(stamp, **{field: value}))

    shown, edits = st.columns(2, gap="large")
    with shown:
        st.markdown(f"**{plain(stamp.part)}** :gray[{say(f'codes.kind_{stamp.kind}'.replace(' ', '_'))}]")
        _decoded(job, stamp)
        if stamp.photo_id:
            st.markdown(picture(f"/bench/thumb/{stamp.photo_id}", say("codes.photo_of", part=stamp.part)))
    with edits:
        typed_field(say("codes.part"), f"{base}-part", stamp.part, partial(keep, "part"))
        if stamp.left_unread:
            typed_field(say("codes.reason"), f"{base}-reason", stamp.reason, partial(keep, "reason"))
            if st.button(say("codes.read_after_all"), key=f"{base}-read"):
                with told():
                    keep_stamp(desk(), replace(stamp, left_unread=False))
                    again()
        else:
            typed_field(say("codes.typed"), f"{base}-typed", stamp.typed, partial(keep, "typed"))
            _kind(stamp, base, keep)
        _photo(job, stamp, base, keep)
        typed_field(say("codes.note"), f"{base}-note", stamp.note, partial(keep, "note"))
        if st.button(say("codes.remove"), key=f"x-{stamp.id}"):
            with told():
                remove_stamp(desk(), stamp)
                taken_away("stamps", stamp.id, stamp.part)
                again()


def _decoded(job: Job, stamp: Stamp) -> None:
    if stamp.left_unread:
        st.markdown(f"### {plain(say('codes.left_unread', reason=stamp.reason))}")
        st.caption(say("codes.full_answer"))
        return
    st.markdown(f"### {plain(stamp.typed or '–')}")
    found = decoded_for(desk(), job, stamp)
    if found is None:
        return
    tell = st.warning if found.refused else st.success
    tell(plain(say(found.headline[0], **dict(found.headline[1]))))
    for code, values in (*found.claims, *found.besides):
        st.markdown(f"- {plain(say(code, **dict(values)))}")


def _kind(stamp: Stamp, base: str, keep) -> None:
    key = f"{base}-kind"

    def changed() -> None:
        with told():
            keep("kind", st.session_state[key])

    st.selectbox(
        say("codes.kind"), KINDS, KINDS.index(stamp.kind), key=key, on_change=changed,
        format_func=lambda kind: say(f"codes.kind_{kind.replace(' ', '_')}"),
    )  # fmt: skip


def _photo(job: Job, stamp: Stamp, base: str, keep) -> None:
    photos = {photo.id: photo for photo in desk().store.find(Photo, job_id=job.id)}
    if not photos:
        return
    key = f"{base}-photo"

    def changed() -> None:
        with told():
            keep("photo_id", st.session_state[key] or None)

    options = ["", *photos]
    st.selectbox(
        say("codes.photo"), options, options.index(stamp.photo_id) if stamp.photo_id in photos else 0, key=key,
        format_func=lambda one: photos[one].caption or photos[one].file_name if one else say("codes.no_photo"),
        on_change=changed,
    )  # fmt: skip

"""Before buying: what the seller says, what is asked, five photos, one sheet. Made for a phone's width."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import streamlit as st

from condition.flow.buying import (
    SLOTS,
    begin_look,
    buying_sheet,
    keep_look,
    keep_receipt,
    look_of,
    name_serial,
    receipts_of,
    sheet_path,
    slot_photos,
)
from condition.flow.desk import Desk
from condition.flow.intake import take_in
from condition.flow.jobs import view_named
from condition.pages.frame import again, choose, chosen_job, desk, go, picture, plain, told
from condition.records.buying import BUYING_DECISIONS, BeforeBuying
from condition.records.instrument import FAMILIES, Instrument
from condition.records.job import Job
from condition.words import say, say_error


def show() -> None:
    st.markdown(f"## {say('buying.heading')}")
    job = chosen_job()
    look = look_of(desk(), job) if job else None
    if job is None or look is None:
        _begin()
        return
    st.markdown(f"### {plain(desk().store.get(Instrument, job.instrument_id).title)}")
    st.caption(plain(job.name))
    _photos(job)
    _said(job, look)
    _decision(look)
    _sheet(job)
    if st.button(say("buying.to_phone"), width="stretch", icon=":material/smartphone:"):
        go("phone", job)
    with st.expander(say("buying.begin")):
        _begin()


def _begin() -> None:
    st.write(say("buying.words"))
    with st.form("begin-look", border=True):
        title = st.text_input(say("buying.what"), placeholder=say("board.title_hint"))
        family = st.selectbox(say("buying.family"), FAMILIES, index=None, placeholder=say("board.family_hint"))
        if st.form_submit_button(say("buying.begin"), type="primary", width="stretch"):
            with told():
                choose(begin_look(desk(), title, family=family or "other"))
                again()
    looks = [desk().store.get(Job, look.job_id) for look in desk().store.find(BeforeBuying)]
    if looks:
        st.markdown(f"### {say('buying.others')}")
        for job in reversed(looks):
            title = desk().store.get(Instrument, job.instrument_id).title
            if st.button(f"{title} · {job.name}", key=f"look-{job.id}", width="stretch"):
                choose(job)
                again()


def _photos(job: Job) -> None:
    st.markdown(f"### {say('buying.photos')}")
    taken = slot_photos(desk(), job)
    for slot in SLOTS:
        photo = taken[slot]
        with st.container(border=True, key=f"slot-{slot.replace(' ', '-')}"):
            if photo:
                st.markdown(picture(f"/bench/thumb/{photo.id}", slot))
            turn = f"slot-turn-{slot}"
            file = st.file_uploader(
                f"{slot} · {say('buying.retake')}" if photo else slot,
                key=f"drop-{slot}-{job.id}-{st.session_state.get(turn, 0)}",
            )
            if file is not None:
                with st.spinner(say("photos.progress", done=0, total=1)):
                    (one,) = take_in(
                        desk(), job, [(file.name, file.getvalue())], view_id=view_named(desk(), job, slot).id
                    )
                if one.error is not None:
                    st.error(plain(say_error(one.error)))
                else:
                    st.session_state[turn] = st.session_state.get(turn, 0) + 1
                    again()


def _said(job: Job, look: BeforeBuying) -> None:
    instrument = desk().store.get(Instrument, job.instrument_id)
    field = partial(_field, desk(), look)
    st.text_area(
        say("buying.claims"), "\n".join(look.claims), help=say("buying.claims_help"), height=110,
        **field("claims", lambda text: tuple(text.splitlines())),
    )  # fmt: skip
    left, right = st.columns([2, 1])
    left.text_input(say("buying.asking"), look.asking_typed, **field("asking_typed"))
    right.text_input(say("buying.currency"), look.currency, max_chars=3, **field("currency"))
    st.text_input(say("buying.seller"), look.seller, **field("seller"))
    st.text_input(say("buying.seller_contact"), look.seller_contact, **field("seller_contact"))
    st.text_input(
        say("buying.serial"), instrument.serial, key=f"serial-{job.id}", on_change=partial(_serial, desk(), job)
    )
    st.text_area(say("buying.worries"), look.worries, height=90, **field("worries"))
    receipt = st.file_uploader(say("buying.receipt_drop"), key=f"receipt-{job.id}-{len(receipts_of(desk(), job))}")
    if receipt is not None:
        with told():
            keep_receipt(desk(), job, receipt.name, receipt.getvalue())
            again()
    for one in receipts_of(desk(), job):
        st.caption(plain(f"{say('buying.receipt')}: {one.file_name}"))


def _decision(look: BeforeBuying) -> None:
    field = partial(_field, desk(), look)
    st.segmented_control(
        say("buying.decision"),
        BUYING_DECISIONS,
        default=look.decision,
        format_func=lambda one: say(f"buying.decision_{one.replace(' ', '_') or 'none'}"),
        **field("decision", lambda chosen: chosen or ""),
    )
    st.text_input(say("buying.decision_reason"), look.decision_reason, **field("decision_reason"))
    if look.decision == "buy":
        st.caption(say("buying.bought"))
        if st.button(say("buying.go_on"), width="stretch"):
            go("instrument", desk().store.get(Job, look.job_id))


def _sheet(job: Job) -> None:
    made = sheet_path(desk(), job)
    if st.button(say("buying.sheet"), type="primary", width="stretch"):
        with told(), st.spinner(say("buying.making")):
            buying_sheet(desk(), job, made)
    if made.exists():
        st.download_button(
            say("buying.save"), made.read_bytes(), file_name=f"{job.name}.pdf", mime="application/pdf", width="stretch"
        )


def _field(at: Desk, look: BeforeBuying, name: str, read=lambda value: value) -> dict:
    key = f"look-{name}-{look.id}"

    def keep() -> None:
        with told():
            keep_look(at, replace(at.store.get(BeforeBuying, look.id), **{name: read(st.session_state[key])}))

    return {"key": key, "on_change": keep}


def _serial(at: Desk, job: Job) -> None:
    with told():
        name_serial(at, job, st.session_state[f"serial-{job.id}"])

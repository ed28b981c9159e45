"""Faults: heard when, tried what, likely what, and the same again on return."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import streamlit as st

from condition.flow.attachments import bytes_of, detach
from condition.flow.faults import (
    EFFECTS,
    KINDS,
    RETESTS,
    SOUND_ENDINGS,
    add_sound,
    add_try,
    edit_fault,
    faults_of,
    note_fault,
    remove_fault,
    retest_open,
    set_try,
    sounds_of,
)
from condition.flow.undo import put_back
from condition.pages.frame import again, desk, job_heading, plain, told
from condition.pages.put_back import offer_back, taken_away
from condition.pages.typed_field import typed_field
from condition.records.attachment import Attachment
from condition.records.fault import Fault, FaultTry
from condition.records.finding import Finding
from condition.records.job import Job
from condition.words import say


def show() -> None:
    card = job_heading()
    if card is None:
        return
    faults = faults_of(desk(), card.job)
    if not faults:
        st.write(say("faults.none"))
    for fault in faults:
        with st.container(border=True, key=f"bench-fault-{fault.id}"):
            _fault(card.job, fault)
    offer_back("faults", partial(put_back, desk(), Fault))
    offer_back("sounds", partial(put_back, desk(), Attachment))
    _new(card.job)


def _new(job: Job) -> None:
    with st.container(border=True, key="bench-new-fault"):
        st.markdown(f"### {say('faults.new')}")
        kind = st.pills(
            say("faults.kind"),
            KINDS,
            format_func=lambda one: say(f"faults.kind_{one.replace(' ', '_')}"),
            key=f"new-fault-{st.session_state.get('fault-turn', 0)}",
        )
        if kind and st.button(say("faults.note"), type="primary"):
            with told():
                note_fault(desk(), job, kind)
                st.session_state["fault-turn"] = st.session_state.get("fault-turn", 0) + 1
                again()


def _fault(job: Job, fault: Fault) -> None:
    base = f"f-{fault.id}-{fault.version}"

    def keep(field: str, value: object) -> None:
        edit_fault(desk(), replace(fault, **{field: value}))

    def chosen(field: str, key: str) -> None:
        with told():
            keep(field, st.session_state[key])

    name = fault.own_kind or say(f"faults.kind_{fault.kind.replace(' ', '_')}")
    st.subheader(f"{name[:1].upper()}{name[1:]}{': ' + fault.where if fault.where else ''}", anchor=False)
    left, right = st.columns(2)
    with left:
        st.selectbox(
            say("faults.kind"), KINDS, KINDS.index(fault.kind), key=f"{base}-kind",
            format_func=lambda one: say(f"faults.kind_{one.replace(' ', '_')}"),
            on_change=partial(chosen, "kind", f"{base}-kind"),
        )  # fmt: skip
        if fault.kind == "other":
            typed_field(say("faults.own_kind"), f"{base}-own", fault.own_kind, partial(keep, "own_kind"))
        _finding(job, fault, base, keep)
    with right:
        typed_field(
            say("faults.where"), f"{base}-where", fault.where, partial(keep, "where"),
            placeholder=say("faults.where_hint"),
        )  # fmt: skip
        typed_field(
            say("faults.heard_when"), f"{base}-when", fault.heard_when, partial(keep, "heard_when"),
            placeholder=say("faults.heard_when_hint"),
        )  # fmt: skip
    st.markdown(f"**{say('faults.tried')}**")
    for place, one in enumerate(fault.tries):
        _try(fault, place, one)
    _own_try(fault, base)
    typed_field(
        say("faults.likely_cause"), f"{base}-cause", fault.likely_cause, partial(keep, "likely_cause"),
        placeholder=say("faults.likely_cause_hint"),
    )  # fmt: skip
    st.caption(say("faults.no_verdict"))
    _sounds(job, fault)
    _retest(fault, base, keep)
    if st.button(say("faults.remove"), key=f"x-{fault.id}"):
        with told():
            remove_fault(desk(), fault)
            taken_away("faults", fault.id, name)
            again()


def _finding(job: Job, fault: Fault, base: str, keep) -> None:
    findings = {one.id: one for one in desk().store.find(Finding, job_id=job.id)}
    if not findings:
        return
    key = f"{base}-finding"

    def changed() -> None:
        with told():
            keep("finding_id", st.session_state[key] or None)

    options = ["", *findings]
    st.selectbox(
        say("faults.finding"),
        options,
        options.index(fault.finding_id) if fault.finding_id in findings else 0,
        format_func=lambda one: _finding_name(findings[one]) if one else say("faults.no_finding"),
        key=key,
        on_change=changed,
    )


def _finding_name(finding: Finding) -> str:
    kind = finding.own_kind or say(f"kind.{finding.kind}")
    return " ".join(part for part in (str(finding.number), kind, finding.place) if part)


def try_name(what: str) -> str:
    """The words of a test: from the catalogue for those laid out, else as typed."""
    code = f"faults.try_{what.replace(' ', '_')}"
    said = say(code)
    return what if said == code else said


def _try(fault: Fault, place: int, one: FaultTry) -> None:
    base = f"try-{fault.id}-{fault.version}-{place}"

    def chosen(field: str, key: str) -> None:
        with told():
            set_try(desk(), fault, place, **{field: st.session_state[key] or "not tried"})

    left, right = st.columns([5, 3], vertical_alignment="bottom")
    with left:
        st.pills(
            plain(try_name(one.what)), EFFECTS, default=one.effect, key=f"{base}-effect",
            format_func=lambda effect: say(f"faults.effect_{effect.replace(' ', '_')}"),
            on_change=partial(chosen, "effect", f"{base}-effect"),
        )  # fmt: skip
    with right:
        typed_field(
            say("faults.try_words", what=try_name(one.what)),
            f"{base}-words",
            one.words,
            lambda text: set_try(desk(), fault, place, words=text),
        )


def _own_try(fault: Fault, base: str) -> None:
    with st.popover(say("faults.own_try"), key=f"bench-own-{fault.id}"):
        what = st.text_input(say("faults.what_tried"), key=f"{base}-own-try")
        if st.button(say("faults.add_try"), key=f"{base}-add-try"):
            with told():
                add_try(desk(), fault, what)
                again()


def _sounds(job: Job, fault: Fault) -> None:
    for sound in sounds_of(desk(), job, fault):
        st.caption(plain(sound.caption or sound.file_name))
        st.audio(bytes_of(desk(), sound), format=sound.media_type)
        if st.button(say("faults.sound_off", file=sound.file_name), key=f"sound-x-{sound.id}"):
            with told():
                detach(desk(), sound)
                taken_away("sounds", sound.id, sound.file_name)
                again()
    with st.popover(say("faults.sound"), key=f"bench-sound-{fault.id}"):
        turn = st.session_state.get(f"sound-turn-{fault.id}", 0)
        file = st.file_uploader(
            say("faults.sound_file"), type=[ending[1:] for ending in SOUND_ENDINGS], key=f"sound-{fault.id}-{turn}"
        )
        spoken = st.audio_input(say("faults.sound_record"), key=f"record-{fault.id}-{turn}")
        arrived = [(file.name, file.getvalue())] if file else []
        if spoken is not None:
            arrived.append((say("faults.sound_name"), spoken.getvalue()))
        if arrived and st.button(say("faults.sound_keep"), key=f"keep-sound-{fault.id}", type="primary"):
            with told():
                for name, data in arrived:
                    add_sound(desk(), job, fault, name, data)
                st.session_state[f"sound-turn-{fault.id}"] = turn + 1
                again()


def _retest(fault: Fault, base: str, keep) -> None:
    """The same tests again, folded away until there is something to test again."""
    with st.expander(say("faults.retest"), expanded=fault.retest != "not retested"):
        waiting = retest_open(fault)
        if waiting:
            st.caption(say("faults.retest_open", tests=", ".join(try_name(what) for what in waiting)))
        for place, one in enumerate(fault.tries):
            if one.effect == "not tried":
                continue
            key = f"again-{fault.id}-{fault.version}-{place}"

            def chosen(key: str = key, place: int = place) -> None:
                with told():
                    set_try(desk(), fault, place, again=st.session_state[key] or "not tried")

            before = say(f"faults.effect_{one.effect.replace(' ', '_')}")
            st.pills(
                plain(say("faults.again", what=try_name(one.what), before=before)), EFFECTS, default=one.again, key=key,
                format_func=lambda effect: say(f"faults.effect_{effect.replace(' ', '_')}"), on_change=chosen,
            )  # fmt: skip
        key = f"{base}-retest"

        def retested() -> None:
            with told():
                keep("retest", st.session_state[key] or "not retested")

        st.pills(
            say("faults.outcome"), RETESTS, default=fault.retest, key=key, on_change=retested,
            format_func=lambda one: say(f"faults.retest_{one.replace(' ', '_')}"),
        )  # fmt: skip
        typed_field(
            say("faults.retest_words"), f"{base}-retest-words", fault.retest_words, partial(keep, "retest_words")
        )

"""The repair plan: what waits for a decision, what is to be done in which order, and one treatment in detail."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from functools import partial

import streamlit as st

from condition.flow.cautions import for_treatment
from condition.flow.finding_pictures import finding_picture
from condition.flow.parts import parts_of
from condition.flow.plan import (
    Open,
    Planned,
    keep_treatment,
    mark_done,
    move,
    option_groups,
    plan,
    plan_as_decided,
    propose,
    put_back_treatment,
    remove_treatment,
    still_open,
    subject_words,
    would_touch,
)
from condition.pages.caution_notes import show_cautions
from condition.pages.frame import again, desk, go, job_heading, picture, plain, told
from condition.pages.put_back import offer_back, taken_away
from condition.records.finding import Finding
from condition.records.job import Job
from condition.records.treatment import ACTIONS, REVERSIBLE, Treatment
from condition.words import say, say_n

CHOSEN = "treatment"


def show() -> None:
    card = job_heading()
    if card is None:
        return
    job = card.job
    planned = plan(desk(), job)
    waiting = still_open(desk(), job)
    left, right = st.columns([3, 2], gap="large")
    with left:
        if waiting:
            _waiting(job, waiting, open_it=not planned)
        _order(planned)
        offer_back("treatment", lambda record_id: put_back_treatment(desk(), record_id))
        _own(job)
    with right:
        chosen = next((one for one in planned if one.treatment.id == st.session_state.get(CHOSEN)), None)
        if chosen is None and planned:
            chosen = planned[0]
        if chosen is None:
            st.write(say("plan.none_yet"))
        else:
            _editor(job, chosen)
        if planned and st.button(say("plan.to_estimate"), type="primary", width="stretch"):
            go("estimate", job)


def action_words(action: str) -> str:
    return say(f"plan.action_{action.replace(' ', '_')}")


def _waiting(job: Job, waiting: tuple[Open, ...], *, open_it: bool) -> None:
    with st.expander(say_n("plan.waiting", len(waiting)), expanded=open_it):
        decided = sum(1 for one in waiting if isinstance(one.record, Finding) and one.record.decision)
        if decided and st.button(say("plan.as_decided"), type="primary"):
            with told():
                plan_as_decided(desk(), job)
                again()
        for number, one in enumerate(waiting):
            with st.container(border=True, key=f"waiting-{one.about_id or number}"):
                _open(job, one, number)


def _open(job: Job, one: Open, number: int) -> None:
    shown, words = st.columns([1, 4], gap="small")
    with shown:
        _picture(one.record)
    with words:
        st.markdown(f"**{plain(_open_words(one))}**")
        if isinstance(one.record, Finding) and one.record.decision:
            st.caption(plain(f"{say('finding.decision')}: {_decided(one.record)}"))
        touched = would_touch(desk(), job, one, "repair")
        for what in touched:
            st.warning(_undisturbed(what.name, what.reason))
        spite = st.text_input(say("plan.in_spite"), key=f"spite-{one.about_id or number}") if touched else ""
        action = st.segmented_control(
            say("plan.what_to_do"), ACTIONS, format_func=action_words, key=f"do-{one.about_id or number}"
        )
        if action:
            with told():
                fields = {"action": action, "in_spite": spite}
                if one.about == "request":
                    fields |= {"request": one.words, "what": one.words}
                made = propose(desk(), job, one.about, one.about_id, **fields)
                st.session_state[CHOSEN] = made.id
                again()


def _open_words(one: Open) -> str:
    if isinstance(one.record, Finding):
        kind = one.record.own_kind or say(f"kind.{one.record.kind}")
        return f"{one.record.number} {kind}: {one.record.place}".rstrip(": ")
    if one.record is not None:
        return subject_words(Planned(Treatment("", ""), None, one.record, ()))
    return say("plan.subject_request", what=one.words)


def _decided(finding: Finding) -> str:
    said = say(f"decision.{finding.decision.replace(' ', '_')}")
    return ". ".join(filter(None, (said, finding.decision_reason)))


def _undisturbed(name: str, reason: str) -> str:
    code = "plan.touches_why" if reason else "plan.touches"
    return plain(say(code, what=name, reason=reason))


def _picture(record: object) -> None:
    path = finding_picture(desk(), record) if isinstance(record, Finding) else None
    if path is not None:
        words = f"{record.number} {record.own_kind or say(f'kind.{record.kind}')}"
        st.markdown(picture(f"/bench/finding/{record.id}.jpg?{path.stem[:12]}", words))


def _order(planned: tuple[Planned, ...]) -> None:
    if planned:
        st.markdown(f"### {say('plan.order')}")
    for turn, one in enumerate(planned, 1):
        treatment = one.treatment
        with st.container(border=True, key=f"treatment-{treatment.id}"):
            shown, words, ways = st.columns([2, 7, 2], gap="small")
            with shown:
                _picture(one.finding)
            with words:
                _told(turn, one)
            with ways:
                _ways(treatment, turn, len(planned))


def _told(turn: int, one: Planned) -> None:
    treatment = one.treatment
    what = treatment.what or action_words(treatment.action)
    st.markdown(f"**{turn}  {plain(what)}**")
    facts = [subject_words(one), action_words(treatment.action)]
    if treatment.reversible:
        facts.append(say(f"plan.reversible_{treatment.reversible.replace(' ', '_')}"))
    if treatment.option_group:
        code = "plan.option_taken" if treatment.chosen else "plan.option_other"
        facts.append(say(code, group=treatment.option_group))
    st.caption(plain(" · ".join(filter(None, facts))))
    if treatment.action != "leave":
        show_cautions(for_treatment(f"{treatment.what} {treatment.how}", one.finding), f"plan-{treatment.id}")
    if treatment.why:
        st.markdown(plain(treatment.why))
    if treatment.lost:
        st.markdown(plain(say("plan.lost_said", what=treatment.lost)))
    for what in one.undisturbed:
        st.warning(_undisturbed(what.name, what.reason))
    if treatment.done_on:
        code = "plan.done_said" if treatment.done_words else "plan.done_plain"
        st.markdown(f"✓ {plain(say(code, day=treatment.done_on, words=treatment.done_words))}")


def _ways(treatment: Treatment, turn: int, count: int) -> None:
    if st.button(say("plan.edit"), key=f"edit-{treatment.id}", width="stretch"):
        st.session_state[CHOSEN] = treatment.id
        again()
    with st.container(horizontal=True, gap="small"):
        for by, code, off in ((-1, "earlier", turn == 1), (1, "later", turn == count)):
            sign = "▲" if by < 0 else "▼"
            if st.button(sign, key=f"{code}-{treatment.id}", help=say(f"plan.{code}"), disabled=off):
                with told():
                    move(desk(), treatment, by)
                    again()


def _own(job: Job) -> None:
    with st.form("own-treatment", border=True, clear_on_submit=True):
        words = st.text_input(say("plan.own"), placeholder=say("plan.own_hint"))
        if st.form_submit_button(say("plan.add_own")) and words.strip():
            with told():
                st.session_state[CHOSEN] = propose(desk(), job, what=words.strip()).id
                again()


def _keep(treatment_id: str, field: str, key: str) -> None:
    value = st.session_state[key]
    with told():
        value = tuple(value) if isinstance(value, list) else value if value is not None else ""
        keep_treatment(desk(), replace(desk().store.get(Treatment, treatment_id), **{field: value}))


def _editor(job: Job, one: Planned) -> None:
    treatment = one.treatment

    def bound(field: str) -> dict:
        key = f"{field}-{treatment.id}"
        return {"key": key, "on_change": partial(_keep, treatment.id, field, key)}

    with st.container(border=True, key="treatment-editor"):
        st.markdown(f"### {plain(subject_words(one) or say('plan.of_its_own'))}")
        if one.undisturbed or treatment.in_spite:
            st.text_input(say("plan.in_spite"), treatment.in_spite, **bound("in_spite"))
        st.segmented_control(
            say("plan.what_to_do"),
            ACTIONS,
            default=treatment.action,
            format_func=action_words,
            required=True,
            **bound("action"),
        )
        st.text_input(say("plan.what"), treatment.what, placeholder=say("plan.what_hint"), **bound("what"))
        st.text_area(say("plan.how"), treatment.how, height=80, **bound("how"))
        st.text_area(say("plan.why"), treatment.why, height=68, **bound("why"))
        st.segmented_control(
            say("plan.reversible"),
            REVERSIBLE[1:],
            default=treatment.reversible or None,
            format_func=lambda way: say(f"plan.reversible_{way.replace(' ', '_')}"),
            **bound("reversible"),
        )
        st.text_area(say("plan.lost"), treatment.lost, height=68, **bound("lost"))
        parts = {part.id: part.name for part in parts_of(desk(), job)}
        if parts:
            known = [part_id for part_id in treatment.part_ids if part_id in parts]
            st.multiselect(
                say("plan.parts"), list(parts), known, format_func=lambda part_id: parts[part_id], **bound("part_ids")
            )
        items = [*dict.fromkeys((*job.request_items, treatment.request))]
        asked = [item for item in items if item]
        if asked and treatment.about != "request":
            st.selectbox(
                say("plan.request"),
                asked,
                asked.index(treatment.request) if treatment.request else None,
                placeholder=say("plan.no_request"),
                **bound("request"),
            )
        _options(job, treatment, bound)
        _done(treatment)
        if st.button(say("plan.remove"), key=f"remove-{treatment.id}"):
            with told():
                remove_treatment(desk(), treatment)
                taken_away("treatment", treatment.id, treatment.what or subject_words(one))
                st.session_state.pop(CHOSEN, None)
                again()


def _options(job: Job, treatment: Treatment, bound) -> None:
    groups = list(option_groups(desk(), job))
    st.selectbox(
        say("plan.option_group"),
        groups,
        groups.index(treatment.option_group) if treatment.option_group else None,
        accept_new_options=True,
        placeholder=say("plan.option_hint"),
        help=say("plan.option_help"),
        **bound("option_group"),
    )
    if treatment.option_group:
        st.checkbox(say("plan.chosen"), treatment.chosen, **bound("chosen"))


def _done(treatment: Treatment) -> None:
    left, right = st.columns(2)
    day_key, words_key = f"done-{treatment.id}", f"done-words-{treatment.id}"

    def keep() -> None:
        with told():
            day = st.session_state[day_key]
            mark_done(
                desk(),
                desk().store.get(Treatment, treatment.id),
                day.isoformat() if day else "",
                st.session_state.get(words_key, ""),
            )

    day = date.fromisoformat(treatment.done_on) if treatment.done_on else None
    left.date_input(say("plan.done_on"), day, format="YYYY-MM-DD", key=day_key, on_change=keep)
    right.text_input(say("plan.done_words"), treatment.done_words, key=words_key, on_change=keep)

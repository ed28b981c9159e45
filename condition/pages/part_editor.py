"""One part: where it is, what it is taken to be, and on what evidence; each field is kept as soon as it changes."""

from __future__ import annotations

from functools import partial

import streamlit as st

from condition.flow import cautions
from condition.flow.bags import bags_of
from condition.flow.desk import Desk
from condition.flow.parts import GROUPS, disturb, edit_part, leave_undisturbed, move, remove_part
from condition.pages.caution_notes import show_cautions
from condition.pages.evidence_rows import claim_against_evidence
from condition.pages.frame import again, plain, told
from condition.pages.put_back import taken_away
from condition.records.job import Job
from condition.records.originality import SIGNS
from condition.records.part import ORIGINALITIES, Part
from condition.words import say

PLACES = ("fitted", "bag", "bench", "case", "out", "not there")
SURE = ("", "sure", "fairly sure", "doubtful")


def edit(desk: Desk, job: Job, part: Part) -> None:
    with st.container(border=True, key="part-editor"):
        with st.container(horizontal=True, vertical_alignment="center", horizontal_alignment="distribute"):
            st.markdown(f"### {plain(part.name[:1].upper() + part.name[1:])}")
            if st.button(say("parts.close"), key=f"close-{part.id}"):
                st.session_state.pop("part", None)
                again()
        _state(desk, part)
        facts, claim, evidence = st.columns([4, 3, 4], gap="medium")
        with facts:
            _facts(desk, job, part)
        claim_against_evidence(desk, job, part, claim, evidence)
        with claim:
            _undisturbed(desk, part)
        with st.container(horizontal=True, gap="small"):
            show_cautions(cautions.for_part(part), f"part-{part.id}")
            with st.popover(say("parts.change_list")):
                _in_the_list(desk, part)


def _keep(desk: Desk, part: Part, field: str, key: str) -> None:
    with told():
        edit_part(desk, part, **{field: st.session_state[key] or ""})


def _bound(desk: Desk, part: Part, field: str) -> dict:
    key = f"part-{field}-{part.id}"
    return {"key": key, "on_change": partial(_keep, desk, part, field, key)}


def _state(desk: Desk, part: Part) -> None:
    st.pills(
        say("parts.originality"),
        ORIGINALITIES,
        default=part.originality or None,
        format_func=lambda state: f"{SIGNS[state].symbol} {say(f'parts.state_{state}')}",
        **_bound(desk, part, "originality"),
    )
    a, b = st.columns(2)
    a.selectbox(
        say("parts.sure"),
        SURE,
        SURE.index(part.sure),
        format_func=lambda sure: say(f"parts.sure_{sure}"),
        **_bound(desk, part, "sure"),
    )
    key = f"part-judged_by-{part.id}-{part.judged_by}"
    b.text_input(
        say("parts.judged_by"), part.judged_by, key=key, on_change=partial(_keep, desk, part, "judged_by", key)
    )


def _facts(desk: Desk, job: Job, part: Part) -> None:
    st.text_area(say("parts.observation"), part.observation, height=80, **_bound(desk, part, "observation"))
    st.text_area(say("parts.interpretation"), part.interpretation, height=68, **_bound(desk, part, "interpretation"))
    st.text_input(say("parts.condition"), part.condition, **_bound(desk, part, "condition"))
    a, b = st.columns(2)
    a.text_input(say("parts.material"), part.material, **_bound(desk, part, "material"))
    b.selectbox(
        say("parts.material_how"),
        ("suspected", "tested"),
        ("suspected", "tested").index(part.material_how),
        format_func=lambda how: say(f"parts.how_{how}"),
        **_bound(desk, part, "material_how"),
    )
    _where(desk, job, part)
    st.text_input(say("parts.whose"), part.whose, placeholder=say("parts.whose_hint"), **_bound(desk, part, "whose"))


def _where(desk: Desk, job: Job, part: Part) -> None:
    a, b = st.columns(2)
    with a:
        place = st.selectbox(
            say("parts.where"),
            PLACES,
            PLACES.index(part.place),
            format_func=lambda place: say(f"parts.place_{place}"),
            key=f"part-place-{part.id}-{part.version}",
        )
    bag_id, out_to = None, ""
    with b:
        if place == "bag":
            bags = {bag.id: bag.number for bag in bags_of(desk, job)}
            bag_id = st.selectbox(
                say("parts.bag"),
                list(bags),
                list(bags).index(part.bag_id) if part.bag_id in bags else None,
                format_func=lambda bag: say("bags.title", number=bags[bag]),
                key=f"part-bag-{part.id}-{part.version}",
                placeholder=say("parts.bag_hint"),
            )
        elif place == "out":
            out_to = st.text_input(say("parts.out_to"), part.out_to, key=f"part-out-{part.id}-{part.version}")
    ready = not (place == "bag" and not bag_id) and not (place == "out" and not out_to.strip())
    if ready and (place, bag_id, out_to) != (part.place, part.bag_id, part.out_to):
        with told():
            move(desk, part, place, bag_id=bag_id, out_to=out_to)
            again()


def _undisturbed(desk: Desk, part: Part) -> None:
    st.markdown(f"**{say('parts.undisturbed')}**")
    if part.undisturbed:
        who = " · ".join(filter(None, (part.undisturbed_by, part.undisturbed_at[:10])))
        st.info(f"{plain(part.undisturbed_reason)}  \n:gray[{plain(who)}]", icon=":material/back_hand:")
        if st.button(say("parts.disturb"), key=f"disturb-{part.id}"):
            with told():
                disturb(desk, part)
                again()
        return
    reason = st.text_input(
        say("parts.undisturbed_reason"), key=f"why-{part.id}", placeholder=say("parts.undisturbed_hint")
    )
    if st.button(say("parts.leave"), key=f"leave-{part.id}"):
        with told():
            leave_undisturbed(desk, part, reason)
            again()


def _in_the_list(desk: Desk, part: Part) -> None:
    st.text_input(say("parts.name"), part.name, **_bound(desk, part, "name"))
    st.selectbox(
        say("parts.group"),
        GROUPS,
        GROUPS.index(part.group) if part.group in GROUPS else None,
        format_func=lambda group: say(f"parts.group_{group}"),
        **_bound(desk, part, "group"),
    )
    if st.button(say("parts.remove"), key=f"remove-{part.id}"):
        with told():
            remove_part(desk, part)
            taken_away("parts", part.id, part.name)
            st.session_state.pop("part", None)
            again()

"""What comes off next, written down in seconds: part, screws, bag, wires, picture; or 'stop: too fragile'."""

from __future__ import annotations

import streamlit as st

from condition.errors import ConditionError
from condition.flow import cautions
from condition.flow.bags import bags_of, next_bag_number
from condition.flow.desk import Desk
from condition.flow.strip_down import layer_photo, off_now, stop_too_fragile, take_off
from condition.pages.caution_notes import show_cautions
from condition.pages.frame import again, plain, told
from condition.pages.photo_picker import pick_photo
from condition.records.job import Job
from condition.records.part import Part
from condition.records.strip_down import Screws
from condition.words import say, say_error

NO_BAG = 0
REASONS = ("brittle", "stuck", "corroded", "solder", "flaking")


def new_step(desk: Desk, job: Job, parts: tuple[Part, ...]) -> None:
    turn = st.session_state.get("step-turn", 0)
    off = off_now(desk, job)
    names = {part.id: part.name for part in parts if part.id not in off and part.place == "fitted"}
    with st.container(border=True, key="new-step"):
        if said := st.session_state.pop("step-said", ""):
            st.error(said)
        chosen = st.multiselect(
            say("strip_down.what"),
            list(names),
            format_func=names.__getitem__,
            placeholder=say("strip_down.what_hint"),
            key=f"step-parts-{turn}",
        )
        what = st.text_input(
            say("strip_down.in_words"), placeholder=say("strip_down.in_words_hint"), key=f"step-what-{turn}"
        )
        taken = tuple(part for part in parts if part.id in chosen)
        for part in taken:
            if part.undisturbed:
                st.warning(plain(say("strip_down.is_undisturbed", name=part.name, reason=part.undisturbed_reason)))
        show_cautions(cautions.for_step(what, taken), "new-step")
        screws = _screws(turn)
        bag = _bag(desk, job, turn)
        a, b = st.columns(2)
        wires = a.text_input(
            say("strip_down.wires"), placeholder=say("strip_down.wires_hint"), key=f"step-wires-{turn}"
        )
        fragments = b.text_input(
            say("strip_down.fragments"), placeholder=say("strip_down.fragments_hint"), key=f"step-fragments-{turn}"
        )
        dropped, picked = _picture(desk, job, turn)
        if st.button(say("strip_down.off"), type="primary", width="stretch", key="step-off"):
            _take_off(desk, job, what, chosen, screws, bag, wires, fragments, dropped, picked)
        _stop(desk, job, what, chosen, picked, turn)


def _screws(turn: int) -> list[Screws]:
    kinds = st.session_state.get(f"screw-kinds-{turn}", 1)
    screws = []
    for k in range(kinds):
        a, b = st.columns([2, 3])
        count = a.number_input(say("strip_down.screws"), 0, 99, 0, key=f"screws-{turn}-{k}")
        hole = b.text_input(
            say("strip_down.hole"), placeholder=say("strip_down.hole_hint"), key=f"screw-hole-{turn}-{k}"
        )
        screws.append(Screws(count, hole.strip()))
    if screws[-1].count and st.button(say("strip_down.more_screws"), key=f"more-screws-{turn}"):
        st.session_state[f"screw-kinds-{turn}"] = kinds + 1
        again()
    return screws


def _bag(desk: Desk, job: Job, turn: int) -> int | None:
    fresh = next_bag_number(desk, job)
    labels = {NO_BAG: say("strip_down.no_bag")}
    labels |= {bag.number: say("bags.title", number=bag.number) for bag in bags_of(desk, job)}
    labels[fresh] = say("strip_down.new_bag", number=fresh)
    number = st.pills(
        say("strip_down.bag"),
        list(labels),
        default=NO_BAG,
        format_func=labels.__getitem__,
        key=f"step-bag-{turn}-{fresh}",
    )
    return number or None


def _picture(desk: Desk, job: Job, turn: int):
    dropped = st.file_uploader(say("strip_down.photo"), key=f"step-photo-{turn}")
    picked = st.session_state.get(f"step-picked-{turn}")
    with st.popover(say("strip_down.pick_photo") if picked is None else say("strip_down.photo_picked")):
        now = pick_photo(desk, job, picked, f"step-{turn}")
        if now != picked:
            st.session_state[f"step-picked-{turn}"] = now
            again()
    return dropped, picked


def _take_off(desk: Desk, job: Job, what, chosen, screws, bag, wires, fragments, dropped, picked) -> None:
    with told():
        step = take_off(
            desk,
            job,
            what,
            part_ids=chosen,
            screws=screws,
            bag_number=bag,
            wires=wires.strip(),
            fragments=fragments.strip(),
            photo_id=picked,
        )
        if dropped is not None:
            try:
                with st.spinner(say("strip_down.taking_photo")):
                    layer_photo(desk, step, dropped.name, dropped.getvalue())
            except ConditionError as error:
                st.session_state["step-said"] = say_error(error)
        _next()


def _stop(desk: Desk, job: Job, what: str, chosen: list[str], picked: str | None, turn: int) -> None:
    """One tap for a usual reason; another one can be typed."""
    with st.popover(say("strip_down.stop"), icon=":material/back_hand:", width="stretch"):
        if not (what.strip() or chosen):
            st.write(say("strip_down.stop_at_what"))
            return
        st.write(say("strip_down.stop_why"))
        reason = next(
            (
                say(f"strip_down.reason_{code}")
                for code in REASONS
                if st.button(say(f"strip_down.reason_{code}"), key=f"stop-{code}-{turn}", width="stretch")
            ),
            "",
        )
        own = st.text_input(say("strip_down.own_reason"), key=f"stop-own-{turn}")
        if st.button(say("strip_down.stop_it"), key=f"stop-it-{turn}", type="primary"):
            reason = own
            if not own.strip():
                st.error(say("strip_down.no_reason"))
        if reason.strip():
            with told():
                for part_id in chosen or [None]:
                    stop_too_fragile(desk, job, what if not chosen else "", reason, part_id=part_id, photo_id=picked)
                _next()


def _next() -> None:
    st.session_state["step-turn"] = st.session_state.get("step-turn", 0) + 1
    again()

"""One step of the log as it came off: looked at, corrected, moved, taken out."""

from __future__ import annotations

from functools import partial

import streamlit as st

from condition.flow import cautions
from condition.flow.bags import bags_of, screws_in_words
from condition.flow.desk import Desk
from condition.flow.strip_down import edit_step, layer_photo, move_step, remove_step
from condition.pages.caution_notes import show_cautions
from condition.pages.frame import again, picture, plain, told
from condition.pages.photo_picker import pick_photo
from condition.pages.put_back import taken_away
from condition.records.job import Job
from condition.records.strip_down import Screws, StripDownStep
from condition.words import say


def step_that_came_off(desk: Desk, job: Job, step: StripDownStep, names: dict[str, str]) -> None:
    state = "stopped" if step.stopped else "back" if step.back else "off"
    with st.container(border=True, key=f"step-{state}-{step.id}"):
        shown, words = st.columns([1, 3]) if step.photo_id else (None, st.container())
        if shown:
            shown.markdown(picture(f"/bench/thumb/{step.photo_id}", say("strip_down.layer", step=step.step_order)))
        with words:
            what_came_off(desk, step)
            if step.stopped:
                st.markdown(f":material/back_hand: **{say('strip_down.stopped')}** {plain(step.reason)}")
            elif step.back:
                st.caption(say("strip_down.back_on", when=step.back_at[:10], who=plain(step.back_by)))
        with st.container(horizontal=True, gap="small"):
            show_cautions(cautions.for_step(step), f"step-{step.id}")
            with st.popover(say("strip_down.change")):
                _change(desk, job, step, names)


def what_came_off(desk: Desk, step: StripDownStep) -> None:
    """Say what a step took off: number, words, bag, screws, wires, fragments."""
    bag = next((bag.number for bag in bags_of(desk, _job(desk, step)) if bag.id == step.bag_id), None)
    where = f" · **{say('bags.title', number=bag)}**" if bag is not None else ""
    lines = [screws_in_words(one.count, one.hole) for one in step.screws]
    lines += [say("strip_down.wires_were", what=step.wires)] if step.wires else []
    lines += [say("strip_down.fragments_were", what=step.fragments)] if step.fragments else []
    below = f"  \n{' · '.join(plain(line) for line in lines)}" if lines else ""
    st.markdown(f"**{step.step_order} · {plain(step.what[:1].upper() + step.what[1:])}**{where}{below}")


def _job(desk: Desk, step: StripDownStep) -> Job:
    return desk.store.get(Job, step.job_id)


def _change(desk: Desk, job: Job, step: StripDownStep, names: dict[str, str]) -> None:
    def bound(field: str) -> dict:
        key = f"{field}-{step.id}"
        return {"key": key, "on_change": partial(_keep, desk, step, field, key)}

    st.text_input(say("strip_down.in_words"), step.what, **bound("what"))
    if not step.stopped:
        mine = [part_id for part_id in step.part_ids if part_id in names]
        st.multiselect(say("strip_down.what"), list(names), mine, format_func=names.__getitem__, **bound("part_ids"))
        _screws(desk, step)
        bags = {bag.number: bag.id for bag in bags_of(desk, job)}
        number = next((number for number, bag_id in bags.items() if bag_id == step.bag_id), None)
        key = f"bag-{step.id}"
        st.number_input(
            say("strip_down.bag_number"), 0, 999, number or 0, key=key, on_change=partial(_keep_bag, desk, step, key)
        )
    else:
        st.text_input(say("strip_down.own_reason"), step.reason, **bound("reason"))
    st.text_input(say("strip_down.wires"), step.wires, **bound("wires"))
    st.text_input(say("strip_down.fragments"), step.fragments, **bound("fragments"))
    _picture(desk, job, step)
    with st.container(horizontal=True):
        for by, word in ((-1, "earlier"), (1, "later")):
            if st.button(say(f"strip_down.{word}"), key=f"{word}-{step.id}"):
                with told():
                    move_step(desk, step, by)
                    again()
        if st.button(say("strip_down.remove"), key=f"remove-{step.id}"):
            with told():
                remove_step(desk, step)
                taken_away("strip-down", step.id, step.what)
                again()


def _screws(desk: Desk, step: StripDownStep) -> None:
    for k, one in enumerate((*step.screws, Screws(0))):
        a, b = st.columns([2, 3])
        keys = f"count-{step.id}-{k}", f"hole-{step.id}-{k}"
        bound = {"on_change": partial(_keep_screws, desk, step, k, *keys)}
        a.number_input(say("strip_down.screws"), 0, 99, one.count, key=keys[0], **bound)
        b.text_input(say("strip_down.hole"), one.hole, key=keys[1], **bound)


def _picture(desk: Desk, job: Job, step: StripDownStep) -> None:
    dropped = st.file_uploader(say("strip_down.photo"), key=f"photo-{step.id}-{step.version}")
    if dropped is not None:
        with told(), st.spinner(say("strip_down.taking_photo")):
            layer_photo(desk, step, dropped.name, dropped.getvalue())
            again()
    picked = pick_photo(desk, job, step.photo_id, f"of-{step.id}")
    if picked != step.photo_id:
        with told():
            edit_step(desk, step, photo_id=picked)
            again()


def _keep(desk: Desk, step: StripDownStep, field: str, key: str) -> None:
    value = st.session_state[key]
    with told():
        edit_step(desk, step, **{field: tuple(value) if isinstance(value, list) else value.strip()})


def _keep_bag(desk: Desk, step: StripDownStep, key: str) -> None:
    with told():
        edit_step(desk, step, bag_number=st.session_state[key] or None)


def _keep_screws(desk: Desk, step: StripDownStep, k: int, count_key: str, hole_key: str) -> None:
    count, hole = st.session_state[count_key], st.session_state[hole_key].strip()
    back = min(step.screws[k].back, count) if k < len(step.screws) else 0
    screws = (*step.screws[:k], Screws(count, hole, back), *step.screws[k + 1 :])
    with told():
        edit_step(desk, step, screws=tuple(one for one in screws if one.count))

"""The next change of hands, as it is written down: who gives what to whom, with what along, in what condition."""

from __future__ import annotations

from datetime import datetime
from functools import partial

import streamlit as st

from condition.flow.days import at_local
from condition.flow.desk import utc_now
from condition.flow.handovers import (
    Whereabouts,
    condition_photos,
    handovers_of,
    must_not_touch,
    open_outs,
    prepare,
    where_is,
)
from condition.flow.jobs import JobCard
from condition.flow.money import read_amount
from condition.flow.parts import parts_of
from condition.flow.people import people, person_named
from condition.flow.price_book import shop_money
from condition.flow.shop import shop
from condition.pages.frame import again, desk, told
from condition.records.finding import Finding
from condition.records.handover import HANDOVER_STEPS, PACKED_KINDS, Handover, HandoverStep, Packed
from condition.records.job import Job
from condition.records.person import Role
from condition.records.photo import Photo
from condition.words import say


def new_handover(card: JobCard) -> None:
    """Ask for the next change of hands: who gives what to whom, how it is packed and in what condition."""
    st.markdown(f"### {say('handover.new')}")
    job = card.job
    where = where_is(desk(), job)
    usual = _usual_step(job, where)
    step: HandoverStep = st.segmented_control(
        say("handover.step"),
        HANDOVER_STEPS,
        default=usual,
        format_func=lambda one: say(f"handover_paper.{one}"),
        key="new-step",
        required=True,
    )
    thing = st.segmented_control(
        say("handover.thing"),
        ("instrument", "part"),
        default="instrument",
        format_func=lambda one: say(f"handover.thing_{one}"),
        key="new-thing",
        required=True,
    )
    turn = st.session_state.get("handover-turn", 0)
    with st.form(f"handover-{step}-{thing}-{turn}", border=False):
        values = _fields(card, step, thing)
        packed = _packing_list(step)
        if step == "out":
            for code in ("asked", "untouched", "fragile", "keep"):
                given = must_not_touch(desk(), job) if code == "untouched" else ""
                hint = say(f"handover.{code}_hint")
                values[code] = st.text_area(say(f"specialist.{code}"), given, height=80, placeholder=hint).strip()
            findings = {one.id: one for one in desk().store.find(Finding, job_id=job.id)}
            about = st.multiselect(say("specialist.findings"), list(findings), format_func=partial(_finding, findings))
            values["finding_ids"] = tuple(about)
        photos = condition_photos(desk(), job, step)
        known = {photo.id: photo for photo in desk().store.find(Photo, job_id=job.id)}
        shown_ids = st.multiselect(
            say("handover.photos"),
            list(known),
            [photo.id for photo in photos][:8],
            format_func=lambda photo_id: known[photo_id].caption or known[photo_id].file_name,
        )
        happened = st.checkbox(say("handover.happened"), True, help=say("handover.happened_help"))
        if st.form_submit_button(say("handover.keep"), type="primary"):
            with told():
                _keep(job, step, thing, values, packed, tuple(shown_ids), happened=happened)
                st.session_state["handover-turn"] = turn + 1
                again()


def _finding(findings: dict[str, Finding], finding_id: str) -> str:
    one = findings[finding_id]
    return f"{one.number} {one.own_kind or say(f'kind.{one.kind}')}"


def _usual_step(job: Job, where: Whereabouts) -> HandoverStep:
    if not handovers_of(desk(), job):
        return "intake"
    return "back" if where.place == "out" or where.parts_out else "returned" if where.place == "here" else "intake"


def _fields(card: JobCard, step: HandoverStep, thing: str) -> dict:
    """Return the form's values as they stand; names and amounts are texts still."""
    values: dict = {}
    own = card.job.examiner or shop(desk()).examiner or shop(desk()).name
    client = card.client.name if card.client else ""
    outs = [out for out in open_outs(desk(), card.job) if out.thing == thing]
    names = {person.id: person.name for person in people(desk())}
    if thing == "part" and step == "back" and outs:
        values["out"] = st.selectbox(
            say("handover.which_back"), outs, format_func=lambda out: out.part_words or say("handover.a_part")
        )
    elif thing == "part":
        values["part_words"] = st.text_input(say("handover.part_words"), placeholder=say("handover.part_hint")).strip()
        parts = {part.id: part.name for part in parts_of(desk(), card.job)}
        if parts:
            chosen = st.multiselect(say("handover.parts"), list(parts), format_func=lambda one: parts[one])
            values["part_ids"] = tuple(chosen)
    away = names.get(outs[-1].taker_id or "", "") if outs and step == "back" else ""
    giver = {"intake": client, "out": own, "back": away, "returned": own}[step]
    taker = {"intake": own, "out": "", "back": own, "returned": client}[step]
    known = sorted(set(names.values()) | {giver, taker} - {""})
    left, right = st.columns(2)
    for key, column, given in (("giver", left, giver), ("taker", right, taker)):
        values[key] = column.selectbox(
            say(f"handover.{key}"),
            known,
            known.index(given) if given in known else None,
            accept_new_options=True,
            placeholder=say("handover.name_hint"),
        )
    left, right = st.columns(2)
    now = datetime.now()
    values["day"] = left.date_input(say("handover.day"), now.date(), format="YYYY-MM-DD")
    values["clock"] = right.time_input(say("handover.clock"), now.time().replace(second=0, microsecond=0))
    left, right = st.columns(2)
    if step in ("out", "intake"):
        due = left.date_input(say("handover.due" if step == "out" else "handover.ready"), None, format="YYYY-MM-DD")
        values["due_on"] = due.isoformat() if due else ""
    code = shop_money(desk()).currency
    values["value"] = right.text_input(say("handover.value", currency=code), placeholder="0.00")
    left, right = st.columns(2)
    carriers = [person.name for person in people(desk(), "carrier")]
    values["carrier"] = left.selectbox(
        say("handover.carrier"), carriers, None, accept_new_options=True, placeholder=say("handover.no_carrier")
    )
    values["consignment"] = right.text_input(say("handover.consignment")).strip()
    values["packing"] = st.text_input(say("handover.packing"), placeholder=say("handover.packing_hint")).strip()
    values["condition"] = st.text_area(say("handover.condition"), height=68).strip()
    return values


def _packing_list(step: HandoverStep) -> tuple[Packed, ...]:
    st.markdown(f"**{say('handover.along')}**")
    packed = []
    for kind in PACKED_KINDS:
        box, words, count = st.columns([3, 5, 2], vertical_alignment="center")
        name = say(f"handover.packed_{kind.replace(' ', '_')}")
        there = box.checkbox(name, kind == "case" and step != "back", key=f"packed-{step}-{kind}")
        told_of = words.text_input(
            say("handover.packed_words", what=name), label_visibility="collapsed", key=f"packed-words-{step}-{kind}"
        )
        many = count.number_input(
            say("handover.packed_count", what=name),
            1,
            99,
            1,
            label_visibility="collapsed",
            key=f"packed-count-{step}-{kind}",
        )
        if there or told_of.strip():
            packed.append(Packed(kind, told_of.strip(), int(many)))
    return tuple(packed)


def _keep(
    job: Job,
    step: HandoverStep,
    thing: str,
    values: dict,
    packed: tuple[Packed, ...],
    photo_ids: tuple[str, ...],
    *,
    happened: bool,
) -> None:
    code = shop_money(desk()).currency
    out: Handover | None = values.get("out")
    texts = ("part_words", "part_ids", "due_on", "consignment", "packing", "condition", "asked", "untouched", "fragile")
    fields = {name: values[name] for name in (*texts, "keep", "finding_ids") if name in values}
    value_minor = read_amount(values["value"], code) if values["value"].strip() else None
    at = at_local(values["day"].isoformat(), values["clock"].strftime("%H:%M")) if happened else ""
    prepare(
        desk(),
        job,
        step,
        thing=thing,
        out_id=out.id if out else "",
        giver_id=_person(job, values["giver"], step, gives=True),
        taker_id=_person(job, values["taker"], step, gives=False),
        carrier_id=person_named(desk(), values["carrier"], "carrier").id if values["carrier"] else None,
        handed_at=min(at, utc_now()) if at else "",
        value_minor=value_minor,
        packed=packed,
        photo_ids=photo_ids,
        **fields,
    )


def _person(job: Job, name: str | None, step: HandoverStep, *, gives: bool) -> str | None:
    """Return the id of whoever is named: somebody known, or somebody new in the role that goes with the step."""
    if not name:
        return None
    known = [person for person in people(desk()) if person.name == name]
    own = [person for person in known if person.id == job.client_id]
    if known:
        return (own or known)[0].id
    outside: Role = "client" if step in ("intake", "returned") else "specialist"
    inside = gives == (step in ("out", "returned"))
    return person_named(desk(), name, "own" if inside else outside).id

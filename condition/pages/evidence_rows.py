"""What is claimed of a part, and beside it what speaks for and against, each with the picture that shows it."""

from __future__ import annotations

from functools import partial

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from condition.flow.desk import Desk
from condition.flow.parts import (
    add_evidence,
    bring_evidence_back,
    edit_evidence,
    edit_part,
    evidence_of,
    remove_evidence,
)
from condition.flow.readings import readings_of
from condition.pages.frame import again, picture, told
from condition.pages.photo_picker import pick_photo
from condition.pages.put_back import offer_back, taken_away
from condition.records.job import Job
from condition.records.part import CLAIM, EVIDENCE_KINDS, Evidence, Part
from condition.records.photo import Photo
from condition.words import say

SPEAKS = ("for", "against", "neither")
SIGNS = {"for": "+", "against": "−", "neither": "·"}


def claim_against_evidence(desk: Desk, job: Job, part: Part, claim: DeltaGenerator, evidence: DeltaGenerator) -> None:
    """Show the claim in one column and the evidence in the one beside it."""
    known = evidence_of(desk, part)
    with claim:
        key = f"part-claim-{part.id}"
        st.text_area(
            say("parts.claim"),
            part.claim,
            height=110,
            key=key,
            placeholder=say("parts.claim_hint"),
            on_change=partial(_keep_claim, desk, part, key),
        )
        _rows(desk, job, [one for one in known if one.kind == CLAIM])
    with evidence:
        st.markdown(f"**{say('parts.evidence')}**")
        shown = [one for one in known if one.kind != CLAIM]
        if not shown:
            st.caption(say("parts.no_evidence_yet"))
        _rows(desk, job, shown)
        offer_back(f"evidence-{part.id}", partial(bring_evidence_back, desk))
        _new(desk, part)


def _keep_claim(desk: Desk, part: Part, key: str) -> None:
    with told():
        edit_part(desk, part, claim=st.session_state[key])


def _new(desk: Desk, part: Part) -> None:
    kind = st.selectbox(
        say("parts.add_evidence"),
        EVIDENCE_KINDS,
        None,
        format_func=lambda kind: say(f"parts.evidence_{kind}"),
        placeholder=say("parts.add_evidence_hint"),
        key=f"new-evidence-{part.id}-{len(evidence_of(desk, part))}",
    )
    if kind:
        with told():
            add_evidence(desk, part, kind=kind, speaks="neither" if kind == CLAIM else "for")
            again()


def _rows(desk: Desk, job: Job, evidence: list[Evidence]) -> None:
    photos = {photo.id: photo for photo in desk.store.find(Photo, job_id=job.id)}
    for one in evidence:
        with st.container(border=True, key=f"evidence-{one.id}"):
            _row(desk, job, one, photos.get(one.photo_id))


def _row(desk: Desk, job: Job, one: Evidence, photo: Photo | None) -> None:
    st.markdown(f"**{SIGNS[one.speaks]} {say(f'parts.evidence_{one.kind}')}**")
    if photo is not None:
        st.markdown(picture(f"/bench/thumb/{photo.id}", photo.caption or photo.file_name))

    def bound(field: str) -> dict:
        key = f"{field}-{one.id}"
        return {"key": key, "on_change": partial(_keep, desk, one, field, key)}

    st.text_area(say("parts.evidence_words"), one.words, height=68, **bound("words"))
    if one.kind != CLAIM:
        st.segmented_control(
            say("parts.speaks"),
            SPEAKS,
            default=one.speaks,
            format_func=lambda speaks: say(f"parts.says_{speaks}"),
            **bound("speaks"),
        )
    with st.popover(say("parts.link")):
        picked = pick_photo(desk, job, one.photo_id, f"evidence-{one.id}")
        if picked != one.photo_id:
            with told():
                edit_evidence(desk, one, photo_id=picked)
                again()
        readings = {
            reading.id: f"{reading.what} {reading.place}: {reading.typed}" for reading in readings_of(desk, job)
        }
        if readings:
            st.selectbox(
                say("parts.reading"),
                ["", *readings],
                ["", *readings].index(one.reading_id) if one.reading_id in readings else 0,
                format_func=lambda key: readings.get(key, say("parts.no_reading")),
                **bound("reading_id"),
            )
        if st.button(say("parts.drop_evidence"), key=f"drop-{one.id}"):
            with told():
                remove_evidence(desk, one)
                taken_away(f"evidence-{one.part_id}", one.id, say(f"parts.evidence_{one.kind}"))
                again()


def _keep(desk: Desk, one: Evidence, field: str, key: str) -> None:
    value = st.session_state[key]
    if value is not None:
        with told():
            edit_evidence(desk, one, **{field: value})

"""One finding: its words, its decision, what it measures and what the calliper said."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import partial

import streamlit as st

from condition.flow.advice import hole_candidates, photos_far_outside
from condition.flow.cautions import for_finding
from condition.flow.desk import Desk
from condition.flow.findings import drop_typed, edit_finding, measurements_of, remove_finding
from condition.flow.scale_check import photos_off_the_plane
from condition.flow.typed_in import DISAGREE, apart, type_value, usual_limit
from condition.pages.budget_bars import budget_bars
from condition.pages.caution_notes import show_cautions
from condition.pages.frame import again, plain, told
from condition.records.finding import Finding
from condition.records.legend import KINDS
from condition.records.measurement import Measurement, Quantity, as_text
from condition.words import say

DECISIONS = ("", "leave", "stabilise", "repair", "replace", "send out", "left undisturbed")
QUANTITIES = {
    "length": "mm", "width": "mm", "widest": "mm", "diameter": "mm", "depth": "mm", "distance": "mm", "area": "mm2",
    "count": "",
}  # fmt: skip
SOURCES = ("calliper", "rule", "gauge")


def edit(desk: Desk, finding: Finding, proposed_place: str = "") -> None:
    """proposed_place : where its marks say it lies; empty when nothing tells, or when a place is written"""
    with st.container(border=True, key="finding-editor"):
        st.markdown(f"**{say('finding.number', number=finding.number)}**")
        found = measurements_of(desk, finding)
        _measured(desk, finding, found)
        _words(desk, finding, proposed_place)
        show_cautions(for_finding(finding), f"finding-{finding.id}")
        _typed(desk, finding, [one.quantity for one in found])
        if st.button(say("finding.remove"), key=f"remove-{finding.id}"):
            with told():
                remove_finding(desk, finding)
                st.session_state.pop("finding", None)
                again()


def _measured(desk: Desk, finding: Finding, found: Sequence[Measurement]) -> None:
    if not found:
        st.caption(say("finding.nothing_measured"))
    for measurement in found:
        source = say(f"source.{measurement.source}")
        note = "" if measurement.note == DISAGREE else measurement.note
        st.markdown(
            f"{say(f'quantity.{measurement.quantity}')} **{plain(as_text(measurement))}** "
            f":gray[{source}{' · ' + plain(note) if note else ''}]"
        )
        if measurement.note == DISAGREE:
            st.warning(say("measure.note_disagree"))
    for typed, seen in apart(found):
        st.warning(say("finding.apart", typed=plain(as_text(typed)), seen=plain(as_text(seen))))
    for file_name in photos_far_outside(desk, finding):
        st.caption(say("finding.far_outside", file=plain(file_name)))
    for file_name in photos_off_the_plane(desk, finding):
        st.caption(say("finding.off_the_plane", file=plain(file_name)))
    _hole(desk, finding)
    if any(measurement.parts for measurement in found):
        with st.popover(say("finding.how_sure")):
            for measurement in found:
                _budget(measurement)


def _hole(desk: Desk, finding: Finding) -> None:
    """What the hole may be and what fits it: a set with sources, never one 'nearest'."""
    found = hole_candidates(desk, finding)
    if not found:
        return
    with st.popover(say("finding.hole")):
        for use in dict.fromkeys(candidate.use for candidate in found):
            st.markdown(f"**{say(f'hole.{use}')}**")
            for candidate in (one for one in found if one.use == use):
                sure = say("hole.sure") if candidate.sure else say("hole.perhaps")
                size = plain(f"{candidate.size} ({candidate.mm:.2f} mm)")
                st.markdown(f"- {size}, {sure} :gray[{plain(candidate.source)}]")


def _budget(measurement: Measurement) -> None:
    if not measurement.parts:
        return
    st.markdown(f"{say(f'quantity.{measurement.quantity}')} **{plain(as_text(measurement))}**")
    budget_bars(measurement)


def _words(desk: Desk, finding: Finding, proposed_place: str) -> None:
    def keep(field: str, key: str) -> None:
        with told():
            edit_finding(desk, replace(finding, **{field: st.session_state[key]}))

    def bound(field: str) -> dict:
        key = f"{field}-{finding.id}"
        return {"key": key, "on_change": partial(keep, field, key)}

    kinds = list(KINDS)
    st.selectbox(
        say("finding.kind"),
        kinds,
        kinds.index(finding.kind),
        format_func=lambda kind: say(f"kind.{kind}"),
        **bound("kind"),
    )
    _place(desk, finding, proposed_place)
    st.text_area(say("finding.observation"), finding.observation, height=80, **bound("observation"))
    st.text_area(say("finding.interpretation"), finding.interpretation, height=68, **bound("interpretation"))
    left, right = st.columns(2)
    with left:
        st.selectbox(
            say("finding.state"),
            ("sure", "doubtful"),
            ("sure", "doubtful").index(finding.state),
            format_func=lambda state: say(f"finding.{state}"),
            **bound("state"),
        )
    with right:
        st.selectbox(
            say("finding.decision"),
            DECISIONS,
            DECISIONS.index(finding.decision),
            format_func=lambda d: say(f"decision.{d.replace(' ', '_')}") if d else say("decision.none"),
            **bound("decision"),
        )
    if finding.decision:
        st.text_input(say("finding.decision_reason"), finding.decision_reason, **bound("decision_reason"))


def _place(desk: Desk, finding: Finding, proposed: str) -> None:
    """The place: what a person wrote, or else, greyed in the field, what the marks tell and the papers will say."""
    key = f"place-{finding.id}"
    stored = f"{key}-stored"
    if key not in st.session_state or st.session_state.get(stored) != finding.place:
        st.session_state[key] = st.session_state[stored] = finding.place

    def write(place: str) -> None:
        with told():
            edit_finding(desk, replace(finding, place=place))

    def typed() -> None:
        st.session_state[key] = st.session_state[key].strip()
        write(st.session_state[key])

    hint = proposed or say("finding.place_hint")
    st.text_input(say("finding.place"), key=key, on_change=typed, placeholder=hint)
    if proposed and not finding.place:
        with st.container(horizontal=True, vertical_alignment="center", key="proposed-place"):
            st.caption(say("finding.place_proposed"), width="stretch")
            st.button(say("finding.place_take_over"), key=f"write-{key}", on_click=write, args=(proposed,))


def _typed(desk: Desk, finding: Finding, seen: Sequence[Quantity]) -> None:
    """``seen``: what the photo tells of the finding, its main size first."""
    with st.popover(say("finding.type_in"), width="stretch"):
        for typed in finding.typed:
            if st.button(say("finding.drop", what=as_text(typed)), key=f"drop-{finding.id}-{typed.quantity}"):
                with told():
                    drop_typed(desk, finding, typed)
                    again()
        a, b = st.columns(2)
        quantities = list(QUANTITIES)
        quantity = a.selectbox(
            say("finding.what"),
            quantities,
            next((quantities.index(q) for q in seen if q in quantities and q != "count"), 0),
            format_func=lambda q: say(f"quantity.{q}"),
            key=f"q-{finding.id}",
        )
        source = "count"
        if quantity != "count":
            source = b.selectbox(
                say("finding.with"), SOURCES, format_func=lambda s: say(f"source.{s}"), key=f"s-{finding.id}"
            )
        value = a.number_input(
            f"{say('finding.value')} {QUANTITIES[quantity].replace('mm2', 'mm²')}",
            0.0,
            1e6,
            None,
            key=f"v-{finding.id}",
        )
        limit = None
        if quantity != "count":
            usual = usual_limit(source) if QUANTITIES[quantity] == "mm" else None
            limit = b.number_input(
                say("finding.limit"),
                0.0,
                1e4,
                usual,
                key=f"w-{finding.id}-{source}-{quantity}",
                format="%.2f",
                help=say("finding.limit_help"),
            )
        overrules = st.checkbox(say("finding.overrules"), finding.typed_overrules, key=f"o-{finding.id}")
        if st.button(say("finding.keep_typed"), key=f"k-{finding.id}", type="primary"):
            if value is None:
                st.error(say("finding.no_value"))
                return
            with told():
                type_value(desk, finding, quantity, value, QUANTITIES[quantity], source, limit, overrules=overrules)
                again()

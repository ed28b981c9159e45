"""The examination: one photo large, its marks, and the findings beside it."""

from __future__ import annotations

from dataclasses import replace

import streamlit as st

from condition.flow.desk import new_id
from condition.flow.examination import marks_of
from condition.flow.marked import KNOWN_DISTANCE, OUTLINE
from condition.flow.findings import measurements_of, new_finding
from condition.flow.jobs import views_of
from condition.flow.scales import plane_summary, set_scale
from condition.pages.canvas import marking_canvas
from condition.pages.finding_editor import edit
from condition.pages.frame import desk, job_heading, plain, told
from condition.pages.scale_words import scale_line
from condition.records.finding import Finding
from condition.records.job import Job
from condition.records.legend import KINDS
from condition.records.mark import Mark
from condition.records.measurement import as_text
from condition.records.photo import Photo
from condition.words import say

CANVAS_HEIGHT = 620


def show() -> None:
    card = job_heading()
    if card is None:
        return
    photos = desk().store.find(Photo, job_id=card.job.id)
    if not photos:
        st.info(say("examine.no_photos"))
        return
    photo = _choose_photo(card.job, photos)
    left, right = st.columns([7, 3], gap="medium")
    with left:
        _picture(photo)
    with right:
        _findings(card.job, photo)


def _choose_photo(job: Job, photos: tuple[Photo, ...]) -> Photo:
    faces = {view.id: view.name for view in views_of(desk(), job)}
    labels = {photo.id: f"{n} · {faces.get(photo.view_id, photo.file_name)}" for n, photo in enumerate(photos, 1)}
    wanted = st.session_state.get("photo") or st.query_params.get("photo")
    chosen = st.segmented_control(
        say("examine.photo"),
        list(labels),
        default=wanted if wanted in labels else photos[0].id,
        format_func=labels.__getitem__,
        label_visibility="collapsed",
        key=f"choose-photo-{job.id}-{st.session_state.get('photo-turn', 0)}",
    )
    photo = next((photo for photo in photos if photo.id == chosen), photos[0])
    st.session_state["photo"] = photo.id
    st.query_params["photo"] = photo.id
    return photo


def _picture(photo: Photo) -> None:
    chosen = _chosen_finding(photo)
    a, b = st.columns([3, 2])
    serves = a.segmented_control(
        say("examine.draw"),
        ["finding", OUTLINE, KNOWN_DISTANCE],
        default="finding",
        format_func=lambda role: say(f"examine.draw_{role.replace(' ', '_')}"),
        key=f"serves-{photo.id}",
    )
    to_chosen = b.toggle(
        say("examine.add_to", number=chosen.number) if chosen else say("examine.add_to_none"),
        key=f"add-to-{photo.id}",
        disabled=chosen is None or serves != "finding",
    )
    kind = serves if serves in (OUTLINE, KNOWN_DISTANCE) else chosen.kind if chosen and to_chosen else "crack"
    findings = desk().store.find(Finding, job_id=photo.job_id)
    event = marking_canvas(
        key=f"canvas-{photo.id}",
        photo={"id": photo.id, "width": photo.width, "height": photo.height},
        marks=marks_of(desk(), photo.id),
        findings=[{"id": f.id, "number": f.number, "kind": f.kind, "words": f.place} for f in findings],
        kind=kind,
        finding_id=chosen.id if chosen and to_chosen and serves == "finding" else None,
        plane=plane_summary(photo),
        go_to=st.session_state.pop("go-to", None),
        tell_chosen=True,
        height=CANVAS_HEIGHT,
    )
    picked = event.get("finding_id") if event and event["what"] == "chosen" else None
    if picked and picked != st.session_state.get("finding"):
        st.session_state["finding"] = picked
        st.rerun()
    st.caption(scale_line(photo))
    if serves == KNOWN_DISTANCE:
        _known_distance(photo)


def _known_distance(photo: Photo) -> None:
    with st.form(f"known-{photo.id}", border=True):
        st.write(say("examine.known_words"))
        a, b = st.columns(2)
        mm = a.number_input(say("examine.known_mm"), 1.0, 5000.0, photo.known_distance_mm, 0.1)
        sd = b.number_input(say("examine.known_within"), 0.01, 50.0, 2 * photo.known_distance_sd_mm, 0.1)
        if st.form_submit_button(say("examine.known_keep")) and mm:
            with told():
                set_scale(desk(), replace(photo, known_distance_mm=mm, known_distance_sd_mm=sd / 2))
                st.rerun()


def _chosen_finding(photo: Photo) -> Finding | None:
    finding_id = st.session_state.get("finding")
    finding = desk().store.one(Finding, id=finding_id) if finding_id else None
    return finding if finding and finding.job_id == photo.job_id else None


def _findings(job: Job, photo: Photo) -> None:
    findings = desk().store.find(Finding, job_id=job.id)
    chosen = _chosen_finding(photo)
    st.markdown(f"#### {say('examine.findings')}")
    if not findings:
        st.caption(say("examine.no_findings"))
    with st.container(key="finding-list", height=min(60 + 46 * len(findings), 330) if findings else "content"):
        for finding in findings:
            if st.button(
                _row(finding),
                key=f"finding-{finding.id}",
                type="primary" if chosen and chosen.id == finding.id else "secondary",
                width="stretch",
            ):
                _go_to(finding, photo)
    if chosen is not None:
        edit(desk(), chosen)
    with st.popover(say("examine.without_mark"), width="stretch"):
        kind = st.selectbox(say("finding.kind"), list(KINDS), format_func=lambda k: say(f"kind.{k}"), key="new-kind")
        if st.button(say("examine.open_finding"), key="open-finding"):
            with told():
                st.session_state["finding"] = new_finding(desk(), job, kind, view_id=photo.view_id).id
                st.rerun()


def _row(finding: Finding) -> str:
    counts = measurements_of(desk(), finding)
    kind = finding.own_kind or say(f"kind.{finding.kind}")
    parts = [f"**{finding.number}** {plain(kind)}", plain(finding.place), plain(as_text(counts[0])) if counts else ""]
    return " · ".join(part for part in parts if part)


def _go_to(finding: Finding, photo: Photo) -> None:
    """Choose a finding and bring its mark into sight, on another photo if it is not marked on this one."""
    st.session_state["finding"] = finding.id
    marked_on = [mark.photo_id for mark in desk().store.find(Mark, finding_id=finding.id)]
    if marked_on and photo.id not in marked_on:
        st.session_state["photo"] = marked_on[0]
        st.session_state["photo-turn"] = st.session_state.get("photo-turn", 0) + 1
    st.session_state["go-to"] = {"finding_id": finding.id, "nonce": new_id()}
    st.rerun()

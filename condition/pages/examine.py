"""The examination: one photo large, its marks, and the findings beside it."""

from __future__ import annotations

from dataclasses import replace
from zlib import crc32

import streamlit as st

from condition.flow.desk import new_id
from condition.flow.examination import marks_of, outline_from_photo
from condition.flow.face_marks import Face
from condition.flow.finding_rows import FindingRow, rows_and_faces
from condition.flow.findings import new_finding
from condition.flow.jobs import turn_view, views_of
from condition.flow.marked import BANK_CARD, KNOWN_DISTANCE, OUTLINE, ROLES
from condition.flow.placing import OnFace, placings_of
from condition.flow.scales import plane_summary, set_scale
from condition.pages.canvas import marking_canvas
from condition.pages.face_place import layer_data, place_on_face
from condition.pages.finding_editor import edit
from condition.pages.finding_list import finding_list
from condition.pages.frame import again, desk, job_heading, picture, told
from condition.pages.scale_words import scale_line
from condition.pages.together import change_together, undo_line
from condition.records.finding import Finding
from condition.records.job import Job
from condition.records.legend import KINDS
from condition.records.mark import Mark
from condition.records.photo import Photo
from condition.records.view import View
from condition.words import say, say_n

CANVAS_HEIGHT = 560
NECKS = ("up", "right", "down", "left")


def show() -> None:
    card = job_heading()
    if card is None:
        return
    photos = desk().store.find(Photo, job_id=card.job.id)
    if not photos:
        st.info(say("examine.no_photos"))
        return
    rows, faces = rows_and_faces(desk(), card.job)
    with st.container(key="examine-desk"):
        left, right = st.columns([7, 3], gap="medium")
        with left:
            photo, serves = _choose(card.job, photos)
            _picture(photo, serves, placings_of(desk(), card.job.id))
            _map(card.job, photo, rows, faces)
        with right:
            _findings(card.job, photo, rows)


def _choose(job: Job, photos: tuple[Photo, ...]) -> tuple[Photo, str]:
    """Let the person choose the photo, and what the next marks serve: findings, the outline, a known distance."""
    faces = {view.id: view.name for view in views_of(desk(), job)}
    labels = {photo.id: f"{n} {_label(photo, faces)}" for n, photo in enumerate(photos, 1)}
    wanted = st.session_state.get("photo") or st.query_params.get("photo")
    with st.container(horizontal=True, vertical_alignment="bottom", key="choosers"):
        chosen = st.segmented_control(
            say("examine.photo"),
            list(labels),
            default=wanted if wanted in labels else photos[0].id,
            format_func=labels.__getitem__,
            key=f"choose-photo-{job.id}-{st.session_state.get('photo-turn', 0)}",
        )
        photo = next((photo for photo in photos if photo.id == chosen), photos[0])
        serves = st.selectbox(
            say("examine.draw"),
            ["finding", OUTLINE, KNOWN_DISTANCE, BANK_CARD],
            format_func=lambda role: say(f"examine.draw_{role.replace(' ', '_')}"),
            key=f"serves-{photo.id}",
            width=220,
        )
    st.session_state["photo"] = photo.id
    st.query_params["photo"] = photo.id
    return photo, serves


def _label(photo: Photo, faces: dict[str, str]) -> str:
    face = faces.get(photo.view_id, photo.file_name)
    if photo.occasion != "intake":
        when = say(f"examine.occasion_{photo.occasion.replace('-', '_')}")
        face = say("examine.photo_in", face=face, light=when)
    if photo.light == "daylight":
        return face
    return say("examine.photo_in", face=face, light=say(f"report.light_{photo.light}"))


def _picture(photo: Photo, serves: str, placings: dict[str, OnFace]) -> None:
    findings = desk().store.find(Finding, job_id=photo.job_id)
    above = st.container()
    event = marking_canvas(
        key=f"canvas-{photo.id}",
        photo={"id": photo.id, "width": photo.width, "height": photo.height},
        marks=marks_of(desk(), photo.id),
        findings=[{"id": f.id, "number": f.number, "kind": f.kind, "words": f.place} for f in findings],
        kind=serves if serves in ROLES else "crack",
        plane=plane_summary(photo),
        go_to=st.session_state.pop("go-to", None),
        tell_chosen=True,
        layers=layer_data(photo, placings),
        height=CANVAS_HEIGHT,
    )
    picked = event.get("finding_id") if event and event["what"] == "chosen" else None
    if picked and picked != st.session_state.get("finding"):
        st.session_state["finding"] = picked
        again()
    st.caption(scale_line(photo))
    place_on_face(photo, placings)
    with above:
        if serves == OUTLINE:
            _outline(photo)
        elif serves == KNOWN_DISTANCE:
            _known_distance(photo)
        elif serves == BANK_CARD:
            st.info(say("examine.bank_card_words"))


def _outline(photo: Photo) -> None:
    """The face's outline: taken from the photo or drawn as a ring, and where the neck points in it."""
    view = desk().store.one(View, id=photo.view_id) if photo.view_id else None
    if view is None:
        st.info(say("mark.outline_without_view"))
        return
    with st.container(horizontal=True, vertical_alignment="bottom", key="outline-row"):
        neck = st.selectbox(
            say("examine.neck"),
            NECKS,
            NECKS.index(view.neck_towards),
            format_func=lambda way: say(f"examine.neck_{way}"),
            width=220,
        )
        if neck != view.neck_towards:
            with told():
                turn_view(desk(), view, neck)
                again()
        drawn = next(iter(desk().store.find(Mark, photo_id=photo.id, role=OUTLINE)), None)
        if drawn is None and st.button(say("examine.take_outline")):
            with told(), st.spinner(say("examine.taking_outline")):
                taken = outline_from_photo(desk(), photo)
                st.session_state["outline-taken"] = (taken["mark"]["id"], taken["mark"]["version"], taken["advice"])
                again()
    mark_id, version, advice = st.session_state.get("outline-taken", ("", 0, ""))
    if advice and drawn and (drawn.id, drawn.version) == (mark_id, version):
        st.warning(advice)


def _known_distance(photo: Photo) -> None:
    with st.form(f"known-{photo.id}", border=True):
        st.write(say("examine.known_words"))
        a, b = st.columns(2)
        mm = a.number_input(say("examine.known_mm"), 1.0, 5000.0, photo.known_distance_mm, 0.1)
        within = b.number_input(say("examine.known_within"), 0.01, 50.0, 2 * photo.known_distance_sd_mm, 0.1)
        if st.form_submit_button(say("examine.known_keep")) and mm:
            with told():
                set_scale(desk(), replace(photo, known_distance_mm=mm, known_distance_sd_mm=within / 2))
                again()


def _findings(job: Job, photo: Photo, rows: tuple[FindingRow, ...]) -> None:
    by_id = {row.finding.id: row for row in rows}
    chosen = by_id.get(st.session_state.get("finding"))
    ticked = tuple(one for one in st.session_state.get("ticked", ()) if one in by_id)
    st.markdown(f"### {say('examine.findings')}")
    if not rows:
        st.caption(say("examine.no_findings"))
    finding_list(
        rows,
        key=f"finding-list-{job.id}",
        chosen=chosen.finding.id if chosen else None,
        ticked=ticked,
        photo_id=photo.id,
        on_chosen=lambda event: _go_to(by_id.get(event["finding_id"]), photo),
        on_ticked=_tick,
    )
    undo_line(job)
    _without_photo(rows)
    if ticked:
        if change_together(rows, ticked, st.session_state.get("together-turn", 0)):
            st.session_state["ticked"] = ()
            st.session_state["together-turn"] = st.session_state.get("together-turn", 0) + 1
            again()
    elif chosen is not None:
        st.session_state["finding-looked-at"] = chosen.finding.id
        edit(desk(), chosen.finding, chosen.proposed)
    with st.popover(say("examine.without_mark"), width="stretch"):
        kind = st.selectbox(say("finding.kind"), list(KINDS), format_func=lambda k: say(f"kind.{k}"), key="new-kind")
        if st.button(say("examine.open_finding"), key="open-finding"):
            with told():
                st.session_state["finding"] = new_finding(desk(), job, kind, view_id=photo.view_id).id
                again()


def _without_photo(rows: tuple[FindingRow, ...]) -> None:
    """Tell the findings that neither a photo nor a measurement bears out."""
    bare = [row.finding.number for row in rows if not row.shown and not row.measured]
    if bare:
        st.caption(say_n("examine.without_photo", len(bare), numbers=", ".join(map(str, bare))))


def _tick(ids: tuple[str, ...]) -> None:
    st.session_state["ticked"] = ids


def _go_to(row: FindingRow | None, photo: Photo) -> None:
    """Choose a finding and bring its mark into sight, on another photo if it is not marked on this one."""
    if row is None:
        return
    st.session_state["finding"] = row.finding.id
    if row.photo_ids and photo.id not in row.photo_ids:
        _show_photo(row.photo_ids[0])
    st.session_state["go-to"] = {"finding_id": row.finding.id, "nonce": new_id()}


def _show_photo(photo_id: str) -> None:
    st.session_state["photo"] = photo_id
    st.session_state["photo-turn"] = st.session_state.get("photo-turn", 0) + 1


def _map(job: Job, photo: Photo, rows: tuple[FindingRow, ...], faces: tuple[Face, ...]) -> None:
    """The map of the shown photo's face, as the report will have it."""
    mapped = [face.entry for face in faces if face.entry.outline_mm is not None]
    number = next((k for k, entry in enumerate(mapped) if entry.view.id == photo.view_id), None)
    if number is None:
        return
    with st.expander(say("examine.map")):
        drawn = [(row.finding.version, [(m.mark.id, m.mark.version, m.again) for m in row.marks]) for row in rows]
        address = f"/bench/map/{job.id}/{number}.svg?{crc32(repr(drawn).encode()):08x}"
        broad, _ = st.columns([3, 1])
        broad.markdown(picture(address, say("examine.map_of", face=mapped[number].view.name)))

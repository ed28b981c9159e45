"""Where the shown photo lies on its face: told, looked over, placed by hand when the pictures do not agree."""

from __future__ import annotations

import streamlit as st

from condition.flow.layers import layers_of, marks_elsewhere
from condition.flow.placing import OnFace, begin, confirm, leave_off, place_by_hand
from condition.pages.frame import again, desk, plain, told
from condition.pages.pair_clicks import pair_clicks
from condition.records.photo import Photo
from condition.words import say


def layer_data(photo: Photo, placings: dict[str, OnFace]) -> dict:
    """Return what the canvas lays over a photo: pictures in other light, and the marks of the face's other photos."""
    return {
        "list": [
            {
                "id": layer.photo.id,
                "label": say("face.layer", light=say(f"report.light_{layer.photo.light}"), file=layer.photo.file_name),
                "tiles": f"/bench/layer/{photo.id}/{layer.photo.id}/{layer.version}/",
                "rim": [list(point) for point in layer.rim_px],
            }
            for layer in layers_of(desk(), photo, placings)
        ],
        "elsewhere": marks_elsewhere(desk(), photo, placings),
    }


def place_on_face(photo: Photo, placings: dict[str, OnFace]) -> None:
    """Tell how the photo lies on its face, and let the person look it over, confirm it or place it by hand."""
    if begin(desk(), photo.job_id):
        _watch(photo.job_id)
    one = placings.get(photo.id)
    if one is None or one.placing is None:
        return
    left_off = bool(one.by_hand and one.by_hand.left_off)
    with st.container(horizontal=True, vertical_alignment="center", key="on-face"):
        st.caption(_line(one, left_off), width="stretch")
        if left_off:
            if st.button(say("face.lay_again"), key="lay-again"):
                _do(leave_off, one, off=False)
            return
        doubtful = not one.sure and one.placing.matrix and one.placing.how != "points"
        if doubtful and st.button(say("face.lies_right"), key="lies-right"):
            _do(confirm, one)
        if st.button(say("face.by_hand"), key="by-hand"):
            st.session_state["place-by-hand"] = None if st.session_state.get("place-by-hand") == photo.id else photo.id
        if st.button(say("face.leave_off"), key="leave-off"):
            _do(leave_off, one)
    if st.session_state.get("place-by-hand") == photo.id:
        _by_hand(one)


@st.fragment(run_every=1.5)
def _watch(job_id: str) -> None:
    if not begin(desk(), job_id):
        again()
    st.caption(say("face.being_laid"))


def _line(one: OnFace, left_off: bool) -> str:
    base = plain(one.base.file_name)
    if left_off:
        return say("face.left_off", base=base)
    if one.placing.refusal and not one.sure:
        return say(one.placing.refusal)
    if one.placing.residual_mm is None:
        return say("face.laid", base=base)
    how = "face.laid_by_hand" if one.placing.how == "points" else "face.laid_within"
    return say(how, base=base, mm=f"{one.placing.residual_mm:.1f}", n=one.placing.supports)


def _by_hand(one: OnFace) -> None:
    pairs = one.by_hand.pairs if one.by_hand else ()
    with st.container(border=True, key="pairs"):
        st.write(say("face.how_to", photo=plain(one.photo.file_name), base=plain(one.base.file_name)))
        pair_clicks(
            one.photo, one.base, pairs, key=f"pairs-{one.photo.id}-{one.base.id}", on_pairs=lambda new: _keep(one, new)
        )


def _keep(one: OnFace, pairs) -> None:
    with told():
        place_by_hand(desk(), one, pairs)


def _do(what, one: OnFace, **given: object) -> None:
    with told():
        what(desk(), one, **given)
        again()

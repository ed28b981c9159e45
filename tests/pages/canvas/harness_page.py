"""The page of the harness: one canvas, and what it told last. Query: ``photo``, ``plane``, ``findings``."""

import json
import os
from pathlib import Path

import streamlit as st

from condition.pages.canvas import marking_canvas
from tests.pages.canvas.fake_steps import MM_PER_PX

st.set_page_config(layout="wide", page_title="canvas")
st.markdown("<style>header{display:none} .stMainBlockContainer{padding:8px 12px}</style>", unsafe_allow_html=True)
tiles = Path(os.environ["HARNESS_FOLDER"]) / "tiles"
ask = st.query_params
first = ask.get("photo") or sorted(p.name for p in tiles.iterdir())[0]
photo = st.text_input("photo", first, label_visibility="collapsed")
meta = json.loads((tiles / photo / "meta.json").read_text())
px = 1 / MM_PER_PX
plane = {
    "mm_per_px": MM_PER_PX,
    "homography": [[px, 0.18 * px / 10, 40.0], [0.1 * px / 10, px * 1.01, 30.0], [0.00002, 0.00001, 1.0]],
}


def view() -> None:
    st.session_state.reruns = st.session_state.get("reruns", 0) + 1
    event = marking_canvas(
        key=f"canvas-{photo}",
        photo={"id": photo, **meta},
        marks=[],
        plane=None if ask.get("plane") == "none" else plane,
        kind=ask.get("kind", "crack"),
        height=int(ask.get("height", "560")),
        tell_chosen=ask.get("tell") == "1",
        watched=True,
    )
    if event:
        st.session_state.last = event
    st.caption(f"event: {st.session_state.get('last', {}).get('what')}; reruns: {st.session_state.reruns}")


view()

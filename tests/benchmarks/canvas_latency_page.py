"""The page of ``canvas_latency_app.py``: one canvas."""

import streamlit as st

from condition.flow.desk import current
from condition.flow.examination import marks_of
from condition.flow.scales import plane_summary
from condition.pages.canvas import marking_canvas
from condition.records.photo import Photo

st.set_page_config(layout="wide")
photo = current().store.get(Photo, st.query_params["photo"])
marking_canvas(
    key="canvas",
    photo={"id": photo.id, "width": photo.width, "height": photo.height},
    marks=marks_of(current(), photo.id),
    plane=plane_summary(photo),
    height=600,
    watched=True,
)

"""What ``canvas_latency.py`` measures: the canvas over the real steps, and the originals for the bare image."""

import os
from pathlib import Path

import streamlit as st
from starlette.routing import Mount
from starlette.staticfiles import StaticFiles

from condition.pages.routes import routes

originals = Mount("/original", StaticFiles(directory=os.environ["CANVAS_ORIGINALS"]))
app = st.App(Path(__file__).with_name("canvas_latency_page.py"), routes=[*routes(), originals])

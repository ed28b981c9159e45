"""The canvas alone: ``streamlit run tests/pages/canvas/harness.py`` with ``HARNESS_FOLDER`` set."""

import os
from pathlib import Path

import streamlit as st

from condition.pages.routes import routes
from tests.pages.canvas.fake_steps import fake_steps

steps = fake_steps(Path(os.environ["HARNESS_FOLDER"]))
app = st.App(Path(__file__).with_name("harness_page.py"), routes=routes(lambda: steps))

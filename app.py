"""Starts the pages: ``streamlit run app.py``."""

import streamlit as st

from condition.pages.routes import routes

app = st.App("condition/pages/shell.py", routes=routes())

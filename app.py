"""Starts the pages: ``streamlit run app.py``."""

import streamlit as st

from condition.pages.layer_routes import layer_routes
from condition.pages.picture_routes import picture_routes
from condition.pages.return_routes import return_routes
from condition.pages.routes import routes

app = st.App("condition/pages/shell.py", routes=[*routes(), *picture_routes(), *return_routes(), *layer_routes()])

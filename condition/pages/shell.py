"""The pages and the way between them; found by the server started in ``app.py``."""

import logging
from pathlib import Path

import streamlit as st

from condition.flow import intake, return_run, stills
from condition.flow.watched import keep_watch
from condition.pages import (
    board,
    buying,
    cards,
    codes,
    estimate,
    examine,
    facts,
    faults,
    handovers,
    paper,
    parts,
    phone,
    photos,
    plan,
    readings,
    return_page,
    shop,
    strip_down,
)
from condition.pages.frame import SHOP_PLACES, desk, dress, page_links
from condition.words import say

PAGES = {
    "bench": (board.show, "page.board"),
    "before-buying": (buying.show, "page.buying"),
    "size-cards": (cards.show, "page.cards"),
    "shop": (shop.show, "page.shop"),
    "instrument": (facts.show, "page.facts"),
    "photos": (photos.show, "page.photos_page"),
    "phone": (phone.show, "page.phone"),
    "examination": (examine.show, "page.examine"),
    "readings": (readings.show, "page.readings"),
    "faults": (faults.show, "page.faults"),
    "codes": (codes.show, "page.codes"),
    "strip-down": (strip_down.show, "page.strip_down"),
    "parts": (parts.show, "page.parts"),
    "plan": (plan.show, "page.plan"),
    "estimate": (estimate.show, "page.estimate"),
    "handovers": (handovers.show, "page.handovers"),
    "return": (return_page.show, "page.returns"),
    "paper": (paper.show, "page.paper"),
}


@st.cache_resource
def _resume() -> None:
    """Go on, once a start of the server, with what a kill left unfinished."""
    intake.resume(desk())
    stills.resume(desk())
    return_run.resume(desk())
    keep_watch(desk())


st.set_page_config(page_title=say("page.title"), page_icon=str(Path(__file__).with_name("icon.png")), layout="wide")
dress()
_resume()
places = {
    path: st.Page(show, title=say(title), url_path=path, default=path == "bench")
    for path, (show, title) in PAGES.items()
}
st.session_state["places"] = places
here = st.navigation(list(places.values()), position="hidden")
page_links("shop-links", {path: place for path, place in places.items() if path in SHOP_PLACES}, None)
try:
    here.run()
except Exception:
    logging.getLogger(__name__).exception("page %s", here.url_path or "bench")
    st.error(say("defect.on_page"))

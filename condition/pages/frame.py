"""What every page has: the desk, the job it is about, its heading and its errors."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, NoReturn

import streamlit as st

from condition.errors import ConditionError
from condition.flow.desk import Desk, current
from condition.flow.jobs import JobCard, job_card
from condition.records.job import Job
from condition.words import say, say_error, say_n

_STYLES = Path(__file__).with_name("pages.css")
SHOP_PLACES = ("bench", "before-buying", "size-cards", "shop")
"""The pages of the shop itself; all others are about one job."""


def desk() -> Desk:
    return current()


def dress() -> None:
    """Put the house's style sheet on the page; it holds no user text."""
    st.html(f"<style>{_STYLES.read_text(encoding='utf-8')}</style>")


def choose(job: Job) -> None:
    """Make a job the one the pages are about; the address keeps it through a reload."""
    st.session_state["job"] = job.id
    st.query_params["job"] = job.id


def go(place: str, job: Job) -> NoReturn:
    """Go to one of the pages with a job; the places are those of the shell's navigation."""
    choose(job)
    st.switch_page(st.session_state["places"][place], query_params={"job": job.id})


def chosen_job() -> Job | None:
    """Return the job the pages are about, None when there is none."""
    job_id = st.query_params.get("job") or st.session_state.get("job")
    job = desk().store.one(Job, id=job_id) if job_id else None
    if job is not None:
        choose(job)
    return job


def page_links(key: str, places: dict[str, Any], job: Job | None) -> None:
    """Show a row of links to pages, kept about the job."""
    with st.container(horizontal=True, key=key, gap="small"):
        for place in places.values():
            st.page_link(place, query_params={"job": job.id} if job else None, width="content")


def job_heading() -> JobCard | None:
    """Show whose instrument lies on the bench; without a job, say how to come by one and return None."""
    job = chosen_job()
    if job is None:
        st.info(say("page.no_job"))
        return None
    card = job_card(desk(), job)
    with st.container(key="job-heading"):
        st.markdown(f"## {plain(card.instrument.title)}")
        parts = [
            say("page.job", name=job.name),
            card.client.name if card.client else say("page.own_stock") if job.own_stock else "",
            say_n("page.photos", card.photo_count),
            say_n("page.findings", card.finding_count),
        ]
        st.caption(" · ".join(plain(part) for part in parts if part))
    places = st.session_state["places"]
    page_links("job-links", {path: place for path, place in places.items() if path not in SHOP_PLACES}, job)
    return card


def plain(text: str) -> str:
    """Return user text so that Markdown shows it as it was typed."""
    for sign in "\\`*_{}[]()#+-.!|<>~$:":
        text = text.replace(sign, "\\" + sign)
    return text.replace("\n", "  \n")


def picture(address: str, text: str) -> str:
    """Return Markdown of a picture from one of the program's own routes, with a text for whoever cannot see it."""
    return f"![{plain(text)}]({address})"


def again() -> None:
    """Run the page anew; whoever has asked for another page meanwhile goes there instead.

    ``st.rerun`` alone would put this page over the one asked for; any element before it lets that request pass first.
    """
    st.empty()
    st.rerun()


@contextmanager
def told() -> Iterator[None]:
    """Show a refusal as its one sentence and keep the page."""
    try:
        yield
    except ConditionError as error:
        st.error(say_error(error))

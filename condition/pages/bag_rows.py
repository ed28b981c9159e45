"""The bags: what is in each, what stays by agreement, and their labels."""

from __future__ import annotations

from functools import partial

import streamlit as st

from condition.flow.bags import bag_labels, bags_of, begin_bag, bring_bag_back, contents_of, edit_bag, remove_bag
from condition.flow.desk import Desk
from condition.pages.frame import again, plain, told
from condition.pages.put_back import offer_back, taken_away
from condition.records.job import Job
from condition.records.strip_down import Bag
from condition.words import say

PAPERS = ("a4", "letter", "label")


def show_bags(desk: Desk, job: Job) -> None:
    st.markdown(f"### {say('bags.heading')}")
    bags = bags_of(desk, job)
    for bag in bags:
        with st.container(border=True, key=f"bag-{bag.id}"):
            _bag(desk, bag)
    offer_back("bags", partial(bring_bag_back, desk))
    with st.container(horizontal=True, vertical_alignment="bottom"):
        if st.button(say("bags.begin"), key="begin-bag"):
            with told():
                begin_bag(desk, job)
                again()
        if bags:
            paper = st.selectbox(
                say("bags.paper"),
                PAPERS,
                format_func=lambda paper: say(f"bags.paper_{paper}"),
                width=170,
                key="bag-paper",
            )
            st.download_button(
                say("bags.labels"),
                lambda: bag_labels(desk, job, paper=paper),
                file_name=f"{job.name} bags.pdf",
                mime="application/pdf",
                key="bag-labels",
            )


def _bag(desk: Desk, bag: Bag) -> None:
    contents = contents_of(desk, bag)
    st.markdown(
        f"**{say('bags.title', number=bag.number)}** {plain(bag.label)}  \n"
        + (" · ".join(plain(line) for line in contents) or f":gray[{say('bags.empty')}]")
    )
    if bag.stays:
        st.caption(plain(say("bags.stays", why=bag.stays)))
    with st.popover(say("bags.change")):
        for field in ("label", "stays"):
            key = f"bag-{field}-{bag.id}"
            st.text_input(
                say(f"bags.{field}_field"),
                getattr(bag, field),
                key=key,
                placeholder=say(f"bags.{field}_hint"),
                on_change=partial(_keep, desk, bag, field, key),
            )
        if not contents and st.button(say("bags.remove"), key=f"remove-bag-{bag.id}"):
            with told():
                remove_bag(desk, bag)
                taken_away("bags", bag.id, say("bags.title", number=bag.number))
                again()


def _keep(desk: Desk, bag: Bag, field: str, key: str) -> None:
    with told():
        edit_bag(desk, bag, **{field: st.session_state[key].strip()})

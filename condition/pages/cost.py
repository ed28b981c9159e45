"""Own stock: what the instrument has cost so far, against what was paid for it."""

from __future__ import annotations

from datetime import date

import streamlit as st

from condition.flow.costs import add_cost, cost_to_date, line_done, put_back_cost, remove_cost
from condition.flow.estimates import latest
from condition.flow.money import read_amount, shown
from condition.pages.frame import again, desk, plain, told
from condition.pages.put_back import offer_back, taken_away
from condition.records.cost import COST_NATURES
from condition.records.job import Job
from condition.words import say


def cost_so_far(job: Job) -> None:
    """Show what was paid and spent, what is still to come, and how to write down more."""
    so_far = cost_to_date(desk(), job)
    code = so_far.currency
    with st.container(border=True, key="cost"):
        st.caption(say("cost.heading"))
        st.markdown(f"## {plain(shown(so_far.total, code))}")
        rows = (("cost.paid", so_far.paid), ("cost.spent", so_far.spent), ("cost.to_come", so_far.to_come))
        for words, minor in rows:
            left, right = st.columns([3, 2])
            left.markdown(say(words))
            right.markdown(plain(shown(minor, code)))
        estimate = latest(desk(), job)
        for line in so_far.open_lines:
            label = say("cost.line_done", line=plain(line.words), amount=shown(line.net, code))
            if st.button(label, key=f"cost-line-{line.id}", width="stretch"):
                with told():
                    line_done(desk(), job, estimate, line)
                    again()
        for cost in so_far.costs:
            left, right = st.columns([4, 1], vertical_alignment="center")
            words = cost.words or say(f"cost.nature_{cost.nature.replace(' ', '_')}")
            left.markdown(plain(f"{cost.day} · {words} · {shown(cost.amount_minor, code)}"))
            if right.button(say("cost.remove"), key=f"cost-{cost.id}"):
                with told():
                    remove_cost(desk(), cost)
                    taken_away("cost", cost.id, words)
                    again()
        offer_back("cost", lambda cost_id: put_back_cost(desk(), cost_id))
        _new(job, code)


def _new(job: Job, code: str) -> None:
    with st.form("new-cost", border=False, clear_on_submit=True):
        nature = st.selectbox(
            say("cost.nature"), COST_NATURES, format_func=lambda one: say(f"cost.nature_{one.replace(' ', '_')}")
        )
        words = st.text_input(say("cost.words"))
        left, right = st.columns(2)
        amount = left.text_input(say("cost.amount", currency=code))
        day = right.date_input(say("cost.day"), date.today(), format="YYYY-MM-DD")
        if st.form_submit_button(say("cost.add")) and amount.strip():
            with told():
                add_cost(desk(), job, nature, words, read_amount(amount, code), day=day.isoformat())
                again()

"""The estimate: its lines, what they come to, the terms, sending, and what was agreed."""

from __future__ import annotations

from dataclasses import replace

import streamlit as st

from condition.flow.days import local_day
from condition.flow.desk import utc_now
from condition.flow.estimate_papers import estimate_paper, paper_name, send_estimate, sent_paper
from condition.flow.estimates import (
    accepted_totals,
    begin,
    estimates_of,
    keep_estimate,
    new_edition,
    put_back_estimate,
    remove_estimate,
    sheet_of,
)
from condition.flow.money import plain_amount, quantity_text, read_amount, read_decimal, shown
from condition.pages.cost import cost_so_far
from condition.pages.estimate_lines import open_lines, sent_lines
from condition.pages.frame import again, desk, job_heading, plain, told
from condition.pages.put_back import offer_back, taken_away
from condition.records.estimate import Estimate, EstimateSheet, Totals
from condition.records.job import Job
from condition.words import say


def show() -> None:
    card = job_heading()
    if card is None:
        return
    job = card.job
    editions = estimates_of(desk(), job)
    offer_back("estimate", lambda estimate_id: put_back_estimate(desk(), estimate_id))
    if not editions:
        st.write(say("estimate.none_yet"))
        if st.button(say("estimate.begin"), type="primary"):
            with told():
                begin(desk(), job)
                again()
        if job.own_stock:
            cost_so_far(job)
        return
    estimate = _edition(editions)
    with told():
        sheet = sheet_of(desk(), estimate)
        left, right = st.columns([3, 2], gap="large")
        with left:
            if estimate.sent_at:
                sent_lines(estimate, sheet)
            else:
                open_lines(estimate, sheet)
        with right:
            if estimate.sent_at:
                _after(estimate, sheet)
            else:
                _before(job, estimate, sheet)
            if job.own_stock:
                cost_so_far(job)


def _edition(editions: tuple[Estimate, ...]) -> Estimate:
    if len(editions) == 1:
        return editions[0]
    by_number = {one.edition: one for one in editions}
    chosen = st.segmented_control(
        say("estimate.editions"),
        list(by_number),
        default=editions[-1].edition,
        format_func=lambda number: _edition_words(by_number[number]),
        key=f"edition-{editions[-1].id}",
    )
    return by_number[chosen or editions[-1].edition]


def _edition_words(one: Estimate) -> str:
    state = say("estimate.sent_on", day=one.sent.dated) if one.sent else say("estimate.open")
    return f"{one.edition} · {state}"


def _sums(totals: Totals, sheet: EstimateSheet, heading: str) -> None:
    """Show what lines come to, the total big."""
    code = sheet.currency
    with st.container(border=True, key=f"sums-{heading}"):
        st.caption(say(f"estimate.{heading}"))
        st.markdown(f"## {plain(shown(totals.gross, code))}")
        rows = [(say("estimate_paper.net"), totals.net)]
        if totals.discount:
            rows.append((sheet.discount_words or say("estimate_paper.discount"), -totals.discount))
        if sheet.tax_percent:
            name = sheet.tax_name or say("estimate_paper.tax")
            rows.append((f"{name} {quantity_text(sheet.tax_percent)} %", totals.tax))
        if totals.deposit:
            rows.append((say("estimate_paper.deposit", percent=quantity_text(sheet.deposit_percent)), totals.deposit))
            rows.append((say("estimate_paper.balance"), totals.balance))
        for label, minor in rows:
            words, amount = st.columns([3, 2])
            words.markdown(plain(label))
            amount.markdown(f"{plain(shown(minor, code))}")


def _before(job: Job, estimate: Estimate, sheet: EstimateSheet) -> None:
    _sums(sheet.totals, sheet, "total_now")
    if st.button(say("estimate.send"), type="primary", width="stretch", help=say("estimate.send_help")):
        with told(), st.spinner(say("estimate.sending")):
            send_estimate(desk(), estimate)
            again()
    st.caption(say("estimate.send_help"))
    st.download_button(
        say("estimate.draft"),
        lambda: estimate_paper(desk(), estimate),
        file_name=paper_name(desk(), estimate),
        mime="application/pdf",
        width="stretch",
    )
    _terms(estimate)
    if st.button(say("estimate.take_away"), key=f"away-{estimate.id}"):
        with told():
            remove_estimate(desk(), estimate)
            taken_away("estimate", estimate.id, say("estimate.edition_named", edition=estimate.edition))
            again()


def _terms(estimate: Estimate) -> None:
    key = f"{estimate.id}-{estimate.version}"
    with st.form(f"terms-{key}"):
        st.markdown(f"### {say('estimate.terms')}")
        intro = st.text_area(say("estimate.intro"), estimate.intro, height=68, key=f"ti-{key}")
        included = st.text_area(say("estimate_paper.in"), estimate.included, height=68, key=f"tn-{key}")
        out = st.text_area(
            say("estimate_paper.out"),
            "\n".join(estimate.not_included),
            height=80,
            help=say("estimate.out_help"),
            key=f"to-{key}",
        )
        a, b, c = st.columns(3)
        percent = a.text_input(
            say("estimate.discount_percent"), quantity_text(estimate.discount_percent), key=f"tp-{key}"
        )
        amount = b.text_input(
            say("estimate.discount_amount"), plain_amount(estimate.discount_minor, estimate.currency), key=f"ta-{key}"
        )
        why = c.text_input(say("estimate.discount_words"), estimate.discount_words, key=f"tw-{key}")
        a, b, c = st.columns(3)
        tax = a.text_input(say("shop.tax_percent"), quantity_text(estimate.tax_percent), key=f"tt-{key}")
        deposit = b.text_input(say("shop.deposit"), quantity_text(estimate.deposit_percent), key=f"td-{key}")
        days = c.number_input(say("shop.validity"), 1, 3660, estimate.validity_days, 1, key=f"tv-{key}")
        stop = st.text_input(
            say("shop.stop_above"), plain_amount(estimate.stop_above_minor, estimate.currency), key=f"ts-{key}"
        )
        lead = st.text_input(say("shop.lead_time"), estimate.lead_time, key=f"tl-{key}")
        terms = st.text_area(say("shop.terms"), estimate.terms, height=80, key=f"tm-{key}")
        if st.form_submit_button(say("estimate.keep_terms")):
            with told():
                keep_estimate(
                    desk(),
                    replace(
                        estimate,
                        intro=intro.strip(),
                        included=included.strip(),
                        not_included=tuple(line.strip() for line in out.splitlines() if line.strip()),
                        discount_percent=read_decimal(percent or "0"),
                        discount_minor=read_amount(amount or "0", estimate.currency),
                        discount_words=why.strip(),
                        tax_percent=read_decimal(tax or "0"),
                        deposit_percent=read_decimal(deposit or "0"),
                        validity_days=int(days),
                        stop_above_minor=read_amount(stop or "0", estimate.currency),
                        lead_time=lead.strip(),
                        terms=terms.strip(),
                    ),
                )
                again()


def _after(estimate: Estimate, sheet: EstimateSheet) -> None:
    agreed = accepted_totals(desk(), estimate)
    if agreed is not None:
        _sums(agreed, sheet, "total_agreed")
    _sums(sheet.totals, sheet, "total_sent")
    st.caption(say("estimate.fixed", day=sheet.dated, until=sheet.valid_until))
    if agreed is None and sheet.valid_until < local_day(utc_now()):
        st.warning(say("estimate.run_out", day=sheet.valid_until))
    st.download_button(
        say("estimate.download"),
        lambda: sent_paper(desk(), estimate),
        file_name=paper_name(desk(), estimate),
        mime="application/pdf",
        type="primary",
        width="stretch",
    )
    if agreed is not None:
        st.download_button(
            say("estimate.download_answered"),
            lambda: estimate_paper(desk(), estimate, answered=True),
            file_name=paper_name(desk(), estimate).replace(".pdf", " answered.pdf"),
            mime="application/pdf",
            width="stretch",
        )
    if st.button(say("estimate.new_edition"), width="stretch"):
        with told():
            new_edition(desk(), estimate)
            again()

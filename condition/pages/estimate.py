"""The estimate: lines with their quantities and why, what they come to, sending, and the client's answers."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from functools import partial

import streamlit as st

from condition.flow.days import local_day
from condition.flow.desk import new_id, utc_now
from condition.flow.estimate_papers import estimate_paper, paper_name, send_estimate, sent_paper
from condition.flow.estimates import (
    accepted_totals,
    add_line,
    answer,
    answer_all,
    answers_of,
    begin,
    estimates_of,
    keep_estimate,
    keep_line,
    lines_from_plan,
    new_edition,
    not_on_it,
    put_back_estimate,
    put_lines_back,
    remove_estimate,
    remove_line,
    sheet_of,
    troubles_of,
)
from condition.flow.money import plain_amount, quantity_text, rate_text, read_amount, read_decimal, shown
from condition.flow.price_book import suited
from condition.pages.cost import cost_so_far
from condition.pages.frame import desk, job_heading, plain, told
from condition.pages.put_back import offer_back, taken_away
from condition.records.estimate import Estimate, EstimateLine, EstimateSheet, SheetLine, Totals
from condition.records.finding import Finding
from condition.records.job import Job
from condition.records.money import PRICE_UNITS, PriceEntry
from condition.words import say, say_n

LINE = "estimate-line"
SAID = ("accepted", "declined", "asked")


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
                st.rerun()
        if job.own_stock:
            cost_so_far(job)
        return
    estimate = _edition(editions)
    with told():
        sheet = sheet_of(desk(), estimate)
        left, right = st.columns([3, 2], gap="large")
        with left:
            if estimate.sent_at:
                _sent_lines(estimate, sheet)
            else:
                _open_lines(estimate, sheet)
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


def much(line: SheetLine) -> str:
    if line.unit == "fixed" and line.quantity == 1:
        return say("money.per_fixed")
    unit = say_n(f"money.unit_{line.unit}", 1 if line.quantity == 1 else 2)
    return f"{quantity_text(line.quantity)} {unit} × {rate_text(line.rate)}"


def _told(number: int, line: SheetLine, code: str) -> None:
    words, amount = st.columns([5, 2], gap="small")
    with words:
        st.markdown(f"**{number}  {plain(line.words or say('estimate.no_words_yet'))}**")
        facts = [much(line)]
        if line.finding and line.measured:
            facts.append(say("estimate_paper.measured", number=line.finding, measured=line.measured))
        elif line.finding:
            facts.append(say("estimate_paper.finding", number=line.finding))
        if line.at_minimum:
            facts.append(say("estimate_paper.minimum", amount=shown(line.minimum, code)))
        if line.materials:
            what = line.materials_words or say("estimate_paper.materials_plain")
            facts.append(say("estimate_paper.materials", what=what, amount=shown(line.materials, code)))
        if line.outside:
            by = "estimate_paper.outside_by" if line.outside_who else "estimate_paper.outside"
            facts.append(say(by, who=line.outside_who))
        if line.optional:
            facts.append(say("estimate_paper.optional"))
        if line.option_group:
            facts.append(say("estimate_paper.one_of", group=line.option_group))
        st.caption(plain(" · ".join(facts)))
    with amount:
        net = shown(line.net, code)
        with st.container(key=f"amount-{line.id}"):
            st.markdown(f"**{plain(net if line.counted else f'({net})')}**")


def _open_lines(estimate: Estimate, sheet: EstimateSheet) -> None:
    troubles = {one.line_id: one for one in troubles_of(desk(), estimate)}
    stored = {line.id: line for line in estimate.lines}
    for number, line in enumerate(sheet.lines, 1):
        with st.container(border=True, key=f"line-{line.id}"):
            _told(number, line, sheet.currency)
            if line.id in troubles:
                st.warning(plain(say(troubles[line.id].code, line=line.words or str(number))))
            with st.expander(say("estimate.edit_line"), expanded=st.session_state.get(LINE) == line.id):
                _line_form(estimate, stored[line.id], line)
    gone = st.session_state.get("gone-lines")
    if gone and gone[0] == estimate.id and st.button(say("put_back.offer", what=plain(gone[2])), key="back-line"):
        with told():
            put_lines_back(desk(), estimate, gone[1])
            del st.session_state["gone-lines"]
            st.rerun()
    missing = not_on_it(desk(), estimate)
    if missing and st.button(say_n("estimate.from_plan", len(missing))):
        with told():
            lines_from_plan(desk(), estimate)
            st.rerun()
    if st.button(say("estimate.add_line")):
        with told():
            line = EstimateLine(new_id())
            add_line(desk(), estimate, line)
            st.session_state[LINE] = line.id
            st.rerun()


def _line_form(estimate: Estimate, line: EstimateLine, now: SheetLine) -> None:
    finding = desk().store.one(Finding, id=line.finding_id) if line.finding_id else None
    book = [entry for entry in suited(desk(), finding) if entry.currency == estimate.currency]
    prices: dict[str, PriceEntry] = {entry.id: entry for entry in book}
    entry = prices.get(line.price_id)
    key = f"{line.id}-{estimate.version}"
    with st.form(f"line-form-{key}", border=False):
        words = st.text_input(say("estimate.words"), line.words, placeholder=now.words, key=f"lw-{key}")
        a, b = st.columns(2)
        chosen = a.selectbox(
            say("estimate.price"),
            ["", *prices],
            ["", *prices].index(line.price_id) if entry else 0,
            format_func=lambda one: prices[one].name if one else say("estimate.typed_price"),
            key=f"lp-{key}",
        )
        names = [variant.name for variant in entry.variants] if entry else []
        variant = b.selectbox(
            say("estimate.variant"),
            ["", *names],
            ["", *names].index(line.variant) if line.variant in names else 0,
            format_func=lambda one: one or say("estimate.plain_way"),
            key=f"lv-{key}",
            disabled=not names,
        )
        a, b, c = st.columns(3)
        quantity = a.text_input(
            say("estimate.quantity"),
            "" if line.quantity is None else quantity_text(line.quantity),
            placeholder=quantity_text(now.quantity),
            help=say("estimate.quantity_help"),
            key=f"lq-{key}",
        )
        unit = b.selectbox(
            say("shop.unit"),
            PRICE_UNITS,
            PRICE_UNITS.index(now.unit),
            format_func=lambda one: say(f"money.per_{one}"),
            disabled=entry is not None,
            key=f"lu-{key}",
        )
        rate = c.text_input(
            say("shop.rate", currency=estimate.currency),
            "" if line.rate is None else rate_text(line.rate),
            placeholder=rate_text(now.rate),
            key=f"lr-{key}",
        )
        a, b = st.columns(2)
        materials = a.text_input(
            say("shop.materials"),
            "" if line.materials_minor is None else plain_amount(line.materials_minor, estimate.currency),
            placeholder=plain_amount(now.materials, estimate.currency),
            key=f"lm-{key}",
        )
        minimum = b.text_input(
            say("shop.minimum"),
            "" if line.minimum_minor is None else plain_amount(line.minimum_minor, estimate.currency),
            placeholder=plain_amount(now.minimum, estimate.currency),
            key=f"ll-{key}",
        )
        a, b, c = st.columns(3)
        optional = a.checkbox(say("estimate.optional"), line.optional, key=f"lo-{key}")
        outside = b.checkbox(say("estimate.outside"), line.outside, key=f"ls-{key}")
        taxed = c.checkbox(say("estimate.taxed"), line.taxed, key=f"lt-{key}")
        a, b = st.columns(2, vertical_alignment="bottom")
        who = a.text_input(say("estimate.outside_who"), line.outside_who, key=f"lx-{key}")
        picked = b.checkbox(say("plan.chosen"), line.chosen, key=f"lc-{key}", disabled=not line.option_group)
        if st.form_submit_button(say("estimate.keep_line"), type="primary"):
            with told():
                edited = replace(
                    line,
                    words=words.strip(),
                    price_id=chosen,
                    variant=variant,
                    quantity=_decimal(quantity),
                    unit=unit,
                    rate=_decimal(rate),
                    materials_minor=_amount(materials, estimate.currency),
                    minimum_minor=_amount(minimum, estimate.currency),
                    optional=optional,
                    outside=outside,
                    outside_who=who.strip(),
                    taxed=taxed,
                    chosen=picked,
                )
                keep_line(desk(), estimate, edited)
                st.session_state[LINE] = line.id if chosen != line.price_id else ""
                st.rerun()
    if st.button(say("estimate.remove_line"), key=f"lz-{line.id}"):
        with told():
            remove_line(desk(), estimate, line.id)
            st.session_state["gone-lines"] = (estimate.id, estimate.lines, now.words)
            st.rerun()


def _decimal(text: str) -> Decimal | None:
    return read_decimal(text) if text.strip() else None


def _amount(text: str, code: str) -> int | None:
    return read_amount(text, code) if text.strip() else None


def sums(totals: Totals, sheet: EstimateSheet, heading: str) -> None:
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
    sums(sheet.totals, sheet, "total_now")
    if st.button(say("estimate.send"), type="primary", width="stretch", help=say("estimate.send_help")):
        with told(), st.spinner(say("estimate.sending")):
            send_estimate(desk(), estimate)
            st.rerun()
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
            st.rerun()


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
                st.rerun()


def _sent_lines(estimate: Estimate, sheet: EstimateSheet) -> None:
    st.markdown(f"### {say('estimate.answers')}")
    given = answers_of(estimate)
    if not given and st.button(say("estimate.all_accepted")):
        with told():
            answer_all(desk(), estimate, "accepted")
            st.rerun()
    for number, line in enumerate(sheet.lines, 1):
        with st.container(border=True, key=f"line-{line.id}"):
            _told(number, line, sheet.currency)
            said = given.get(line.id)
            choice, words = st.columns([3, 2], gap="small")
            key = f"say-{line.id}-{estimate.version}"
            choice.segmented_control(
                say("estimate.answer"),
                SAID,
                default=said.answer if said else None,
                format_func=lambda one: say(f"estimate.{one}"),
                key=key,
                on_change=partial(_said, estimate, line.id, key),
            )
            if said is not None:
                choice.caption(say("estimate.answered_on", day=local_day(said.at)))
            note = f"note-{line.id}-{estimate.version}"
            words.text_input(
                say("estimate.in_their_words"),
                said.words if said else "",
                key=note,
                on_change=partial(_noted, estimate, line.id, note),
                disabled=said is None,
            )


def _said(estimate: Estimate, line_id: str, key: str) -> None:
    with told():
        before = answers_of(estimate).get(line_id)
        answer(desk(), estimate, line_id, st.session_state[key] or "", before.words if before else "")


def _noted(estimate: Estimate, line_id: str, key: str) -> None:
    with told():
        answer(desk(), estimate, line_id, answers_of(estimate)[line_id].answer, st.session_state[key])


def _after(estimate: Estimate, sheet: EstimateSheet) -> None:
    agreed = accepted_totals(desk(), estimate)
    if agreed is not None:
        sums(agreed, sheet, "total_agreed")
    sums(sheet.totals, sheet, "total_sent")
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
            st.rerun()

"""The lines of an estimate: what each is, what it comes to and why; edited until it is sent, answered after."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from functools import partial

import streamlit as st

from condition.flow.days import local_day
from condition.flow.desk import new_id
from condition.flow.estimates import (
    add_line,
    answer,
    answer_all,
    answers_of,
    keep_line,
    lines_from_plan,
    not_on_it,
    put_lines_back,
    remove_line,
    troubles_of,
)
from condition.flow.money import plain_amount, quantity_text, rate_text, read_amount, read_decimal, shown
from condition.flow.price_book import suited
from condition.pages.frame import again, desk, plain, told
from condition.records.estimate import Estimate, EstimateLine, EstimateSheet, SheetLine
from condition.records.finding import Finding
from condition.records.money import PRICE_UNITS, PriceEntry
from condition.words import say, say_n

LINE = "estimate-line"
SAID = ("accepted", "declined", "asked")


def open_lines(estimate: Estimate, sheet: EstimateSheet) -> None:
    """Show the lines of an open estimate, each with its form, and what may still be added."""
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
            again()
    missing = not_on_it(desk(), estimate)
    if missing and st.button(say_n("estimate.from_plan", len(missing))):
        with told():
            lines_from_plan(desk(), estimate)
            again()
    if st.button(say("estimate.add_line")):
        with told():
            line = EstimateLine(new_id())
            add_line(desk(), estimate, line)
            st.session_state[LINE] = line.id
            again()


def sent_lines(estimate: Estimate, sheet: EstimateSheet) -> None:
    """Show the lines as they were sent, each with the client's answer."""
    st.markdown(f"### {say('estimate.answers')}")
    given = answers_of(estimate)
    if not given and st.button(say("estimate.all_accepted")):
        with told():
            answer_all(desk(), estimate, "accepted")
            again()
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


def _told(number: int, line: SheetLine, code: str) -> None:
    words, amount = st.columns([5, 2], gap="small")
    with words:
        st.markdown(f"**{number}  {plain(line.words or say('estimate.no_words_yet'))}**")
        facts = [_much(line)]
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


def _much(line: SheetLine) -> str:
    if line.unit == "fixed" and line.quantity == 1:
        return say("money.per_fixed")
    unit = say_n(f"money.unit_{line.unit}", 1 if line.quantity == 1 else 2)
    return f"{quantity_text(line.quantity)} {unit} × {rate_text(line.rate)}"


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
                again()
    if st.button(say("estimate.remove_line"), key=f"lz-{line.id}"):
        with told():
            remove_line(desk(), estimate, line.id)
            st.session_state["gone-lines"] = (estimate.id, estimate.lines, now.words)
            again()


def _decimal(text: str) -> Decimal | None:
    return read_decimal(text) if text.strip() else None


def _amount(text: str, code: str) -> int | None:
    return read_amount(text, code) if text.strip() else None


def _said(estimate: Estimate, line_id: str, key: str) -> None:
    with told():
        before = answers_of(estimate).get(line_id)
        answer(desk(), estimate, line_id, st.session_state[key] or "", before.words if before else "")


def _noted(estimate: Estimate, line_id: str, key: str) -> None:
    with told():
        answer(desk(), estimate, line_id, answers_of(estimate)[line_id].answer, st.session_state[key])

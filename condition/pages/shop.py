"""The shop: its name, how it reckons, and its price book."""

from __future__ import annotations

from dataclasses import replace

import streamlit as st

from condition.flow.money import currencies, plain_amount, quantity_text, rate_text, read_amount, read_decimal, shown
from condition.flow.people import keep_person, people, person_named
from condition.flow.price_book import (
    keep_price,
    keep_shop_money,
    new_price,
    price_book,
    put_back_price,
    read_variants,
    remove_price,
    shop_money,
    variants_text,
)
from condition.flow.shop import keep_shop, shop
from condition.pages.frame import again, desk, plain, told
from condition.pages.put_back import offer_back, taken_away
from condition.records.legend import KINDS
from condition.records.money import PRICE_UNITS, ROUNDINGS, TAXED_ON, PriceEntry, ShopMoney
from condition.records.person import Person
from condition.words import say

KEPT = "shop-kept"
ROLES = ("specialist", "carrier", "own", "other")


def show() -> None:
    st.markdown(f"## {say('shop.heading')}")
    if st.session_state.pop(KEPT, False):
        st.toast(say("shop.kept"))
    left, right = st.columns([2, 3], gap="large")
    with left:
        _facts()
        _people()
        _money()
    with right:
        _book()


def _done() -> None:
    st.session_state[KEPT] = True
    again()


def _facts() -> None:
    known = shop(desk())
    st.markdown(f"### {say('shop.facts')}")
    with st.form("shop-facts", border=False):
        name = st.text_input(say("shop.name"), known.name)
        address = st.text_area(say("shop.address"), known.address, height=80)
        contact = st.text_input(say("shop.contact"), known.contact)
        examiner = st.text_input(say("shop.examiner"), known.examiner)
        if st.form_submit_button(say("shop.keep")):
            with told():
                edited = replace(known, name=name, address=address, contact=contact, examiner=examiner)
                keep_shop(desk(), edited)
                _done()


def _people() -> None:
    """Specialists, carriers and the shop's own people: what stands on the papers of a handover."""
    st.markdown(f"### {say('people.heading')}")
    for person in people(desk(), "own", "specialist", "carrier", "other"):
        with st.expander(f"{plain(person.name)} · {say(f'people.role_{person.role}')}"):
            _person(person)
    with st.expander(say("people.new")):
        _person(None)


def _person(person: Person | None) -> None:
    key = person.id if person else f"new-{st.session_state.get('new-person', 0)}"
    with st.form(f"person-{key}", border=False):
        name = st.text_input(say("people.name"), person.name if person else "", key=f"on-{key}")
        role = st.selectbox(
            say("people.role"),
            ROLES,
            ROLES.index(person.role) if person else 0,
            format_func=lambda one: say(f"people.role_{one}"),
            key=f"or-{key}",
        )
        address = st.text_area(say("shop.address"), person.address if person else "", height=80, key=f"oa-{key}")
        contact = st.text_input(say("shop.contact"), person.contact if person else "", key=f"oc-{key}")
        if st.form_submit_button(say("shop.keep")):
            with told():
                if person is None:
                    person_named(desk(), name, role, address, contact)
                    st.session_state["new-person"] = st.session_state.get("new-person", 0) + 1
                else:
                    keep_person(desk(), replace(person, name=name.strip(), role=role, address=address, contact=contact))
                _done()


def _money() -> None:
    known = shop_money(desk())
    st.markdown(f"### {say('shop.money')}")
    codes = sorted(currencies())
    with st.form("shop-money", border=False):
        code = st.selectbox(
            say("shop.currency"),
            codes,
            codes.index(known.currency),
            format_func=lambda one: f"{one} · {currencies()[one].name}",
        )
        a, b = st.columns(2)
        tax_name = a.text_input(say("shop.tax_name"), known.tax_name, placeholder=say("shop.tax_hint"))
        tax = b.text_input(say("shop.tax_percent"), quantity_text(known.tax_percent))
        tax_on = st.radio(
            say("shop.tax_on"),
            TAXED_ON,
            TAXED_ON.index(known.tax_on),
            format_func=lambda one: say(f"money.tax_on_{one}"),
        )
        rounding = st.selectbox(
            say("shop.rounding"),
            ROUNDINGS,
            ROUNDINGS.index(known.rounding),
            format_func=lambda one: say(f"money.rounding_{one.replace(' ', '_')}"),
        )
        a, b = st.columns(2)
        deposit = a.text_input(say("shop.deposit"), quantity_text(known.deposit_percent))
        days = b.number_input(say("shop.validity"), 1, 3660, known.validity_days, 1)
        stop = st.text_input(
            say("shop.stop_above"),
            plain_amount(known.stop_above_minor, known.currency) if known.stop_above_minor else "",
            placeholder=say("shop.always_ask"),
        )
        binding = st.checkbox(say("shop.binding"), known.binding, help=say("shop.binding_help"))
        lead_time = st.text_input(say("shop.lead_time"), known.lead_time, placeholder=say("shop.lead_time_hint"))
        terms = st.text_area(say("shop.terms"), known.terms, height=100, placeholder=say("shop.terms_hint"))
        if st.form_submit_button(say("shop.keep"), type="primary"):
            with told():
                keep_shop_money(
                    desk(),
                    ShopMoney(
                        currency=code,
                        tax_name=tax_name.strip(),
                        tax_percent=read_decimal(tax or "0"),
                        tax_on=tax_on,
                        rounding=rounding,
                        deposit_percent=read_decimal(deposit or "0"),
                        validity_days=int(days),
                        stop_above_minor=read_amount(stop or "0", code),
                        binding=binding,
                        lead_time=lead_time.strip(),
                        terms=terms.strip(),
                        version=known.version,
                    ),
                )
                _done()


def _book() -> None:
    st.markdown(f"### {say('shop.book')}")
    st.write(say("shop.book_words"))
    offer_back("price", lambda entry_id: put_back_price(desk(), entry_id))
    with st.container(key="price-book"):
        for entry in price_book(desk()):
            per = say(f"money.per_{entry.unit}")
            with st.expander(f"**{plain(entry.name)}** · {rate_text(entry.rate)} {entry.currency} {per}"):
                _entry(entry)
        with st.expander(say("shop.new_price"), expanded=not price_book(desk())):
            _entry(None)


def _entry(entry: PriceEntry | None) -> None:
    own = shop_money(desk())
    code = entry.currency if entry else own.currency
    key = entry.id if entry else f"new-{st.session_state.get('new-price', 0)}"
    with st.form(f"price-{key}", border=False):
        name = st.text_input(say("shop.price_name"), entry.name if entry else "", key=f"pn-{key}")
        a, b, c = st.columns(3)
        unit = a.selectbox(
            say("shop.unit"),
            PRICE_UNITS,
            PRICE_UNITS.index(entry.unit) if entry else PRICE_UNITS.index("each"),
            format_func=lambda one: say(f"money.per_{one}"),
            key=f"pu-{key}",
        )
        rate = b.text_input(say("shop.rate", currency=code), rate_text(entry.rate) if entry else "", key=f"pr-{key}")
        least = entry.minimum_minor if entry else 0
        minimum = c.text_input(
            say("shop.minimum"),
            plain_amount(least, code) if least else "",
            key=f"pm-{key}",
            help=say("shop.minimum_help"),
        )
        a, b, c = st.columns([1, 2, 1], vertical_alignment="bottom")
        cost = entry.materials_minor if entry else 0
        materials = a.text_input(say("shop.materials"), plain_amount(cost, code) if cost else "", key=f"pc-{key}")
        words = b.text_input(say("shop.materials_words"), entry.materials_words if entry else "", key=f"pw-{key}")
        each = c.checkbox(say("shop.materials_each"), bool(entry and entry.materials_each), key=f"pe-{key}")
        suits = st.multiselect(
            say("shop.suits"),
            list(KINDS),
            list(entry.suits) if entry else [],
            format_func=lambda kind: say(f"kind.{kind}"),
            key=f"ps-{key}",
        )
        variants = st.text_area(
            say("shop.variants"),
            variants_text(entry) if entry else "",
            height=80,
            placeholder=say("shop.variants_hint"),
            key=f"pv-{key}",
        )
        if st.form_submit_button(say("shop.keep_price"), type="primary"):
            with told():
                values = {
                    "minimum_minor": read_amount(minimum or "0", code),
                    "materials_minor": read_amount(materials or "0", code),
                    "materials_each": each,
                    "materials_words": words.strip(),
                    "suits": tuple(suits),
                    "variants": read_variants(variants),
                }
                if entry is None:
                    new_price(desk(), name, unit, read_decimal(rate), **values)
                    st.session_state["new-price"] = st.session_state.get("new-price", 0) + 1
                else:
                    keep_price(desk(), replace(entry, name=name, unit=unit, rate=read_decimal(rate), **values))
                _done()
    if entry is not None:
        if entry.minimum_minor:
            st.caption(say("shop.at_least", amount=shown(entry.minimum_minor, code)))
        if st.button(say("shop.remove_price"), key=f"px-{key}"):
            with told():
                remove_price(desk(), entry)
                taken_away("price", entry.id, entry.name)
                again()

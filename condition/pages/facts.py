"""The instrument, whose it is, and why it is here."""

from __future__ import annotations

from dataclasses import replace

import streamlit as st

from condition.flow.desk import new_id
from condition.flow.jobs import JobCard, describe
from condition.flow.places_in_words import sides_written
from condition.pages.frame import desk, job_heading, told
from condition.records.finding import Finding
from condition.records.instrument import FAMILIES, HANDEDNESS
from condition.records.person import Person
from condition.words import say, say_n


def show() -> None:
    card = job_heading()
    if card is not None:
        _form(card)


def _form(card: JobCard) -> None:
    job, instrument = card.job, card.instrument
    client = card.client or Person(new_id(), "")
    with st.form("facts", border=False, enter_to_submit=False):
        left, right = st.columns(2, gap="large")
        with left:
            st.markdown(f"### {say('facts.instrument')}")
            title = st.text_input(say("facts.title"), instrument.title)
            family = st.selectbox(say("facts.family"), FAMILIES, FAMILIES.index(instrument.family))
            serial = st.text_input(say("facts.serial"), instrument.serial)
            string_length = st.number_input(
                say("facts.string_length"), 100.0, 1200.0, instrument.string_length_mm, 0.5, placeholder="mm"
            )
            handedness = st.radio(
                say("facts.strung_for"),
                HANDEDNESS,
                HANDEDNESS.index(instrument.handedness),
                format_func=lambda hand: say(f"facts.strung_{hand}"),
                horizontal=True,
                help=say("facts.strung_for_help"),
            )
            description = st.text_area(say("facts.description"), instrument.description, height=110)
            materials = st.text_area(say("facts.materials"), instrument.materials, height=80)
            st.markdown(f"### {say('facts.claims')}", help=say("facts.claims_help"))
            a, b, c = st.columns(3)
            maker = a.text_input(say("facts.claimed_maker"), instrument.claimed_maker)
            model = b.text_input(say("facts.claimed_model"), instrument.claimed_model)
            year = c.text_input(say("facts.claimed_year"), instrument.claimed_year)
            owner = st.text_input(say("facts.owner"), instrument.owner)
        with right:
            st.markdown(f"### {say('facts.client')}")
            own_stock = st.checkbox(say("facts.own_stock"), job.own_stock)
            name = st.text_input(say("facts.client_name"), client.name)
            a, b = st.columns(2)
            address = a.text_area(say("facts.address"), client.address, height=80)
            contact = b.text_area(say("facts.contact"), client.contact, height=80)
            st.markdown(f"### {say('facts.request_heading')}")
            request = st.text_area(say("facts.request"), job.request, height=90)
            items = st.text_area(say("facts.request_items"), "\n".join(job.request_items), height=90)
            reason = st.text_input(say("facts.reason"), job.reason)
            st.markdown(f"### {say('facts.examination')}")
            a, b = st.columns(2)
            examiner = a.text_input(say("facts.examiner"), job.examiner)
            light = b.text_input(say("facts.light"), job.light_and_aids)
            not_examined = st.text_area(say("facts.not_examined"), job.not_examined, height=80)
            summary = st.text_area(say("facts.summary"), job.summary, height=110)
        if not st.form_submit_button(say("facts.keep"), type="primary"):
            return
    with told():
        describe(
            desk(),
            replace(
                job,
                own_stock=own_stock,
                request=request,
                request_items=tuple(line.strip() for line in items.splitlines() if line.strip()),
                reason=reason,
                examiner=examiner,
                light_and_aids=light,
                not_examined=not_examined,
                summary=summary,
            ),
            replace(
                instrument,
                title=title.strip() or instrument.title,
                family=family,
                serial=serial,
                string_length_mm=string_length,
                handedness=handedness,
                description=description,
                materials=materials,
                claimed_maker=maker,
                claimed_model=model,
                claimed_year=year,
                owner=owner,
            ),
            replace(client, name=name, address=address, contact=contact),
        )
        st.toast(say("facts.kept"))
        numbers = sides_written(desk().store.find(Finding, job_id=job.id))
        if numbers and handedness != instrument.handedness:
            st.warning(say_n("facts.sides_written", len(numbers), numbers=", ".join(map(str, numbers))))

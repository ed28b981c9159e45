"""Handovers: who has it now, and how it went from hand to hand, with the papers of each change."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import streamlit as st

from condition.flow.days import local_day
from condition.flow.handover_papers import case_label, handover_paper, paper_name, specialist_paper
from condition.flow.handovers import (
    Whereabouts,
    file_paper,
    hand_over,
    handovers_of,
    keep_handover,
    papers_of,
    photos_of,
    put_back_handover,
    remove_handover,
    sign,
    where_is,
    where_words,
)
from condition.flow.money import shown
from condition.flow.people import people
from condition.pages.frame import again, desk, job_heading, picture, plain, told
from condition.pages.handover_form import new_handover
from condition.pages.put_back import offer_back, taken_away
from condition.records.handover import Handover, Packed
from condition.records.job import Job
from condition.records.photo import Photo
from condition.words import say, say_n

FILED = ("invoice", "picture", "letter", "other")
ACROSS = 4


def show() -> None:
    card = job_heading()
    if card is None:
        return
    _where(where_is(desk(), card.job))
    left, right = st.columns([3, 2], gap="large")
    with left:
        done = handovers_of(desk(), card.job)
        if not done:
            st.write(say("handover.none_yet"))
        for one in done:
            _entry(card.job, one)
        offer_back("handover", lambda record_id: put_back_handover(desk(), record_id))
    with right, st.container(border=True, key="new-handover"):
        new_handover(card)


def _where(where: Whereabouts) -> None:
    today = date.today().isoformat()
    with st.container(border=True, key="where-is"):
        st.markdown(f"## {plain(where_words(where))}")
        facts = [say("handover.since", day=local_day(where.since))] if where.since else []
        if where.due:
            facts.append(say("handover.due_back" if where.place == "out" else "handover.due_ready", day=where.due))
        st.markdown(plain(" · ".join(facts)))
        for part in where.parts_out:
            name = part.person.name if part.person else say("handover.somebody")
            since = local_day(part.since)
            words = say("handover.part_out", part=part.words or say("handover.a_part"), who=name, day=since)
            due = f" · {say('handover.due_back', day=part.due)}" if part.due else ""
            st.markdown(plain(words + due))
        if where.overdue(today):
            st.warning(say("handover.overdue"))


def _entry(job: Job, one: Handover) -> None:
    names = {person.id: person.name for person in people(desk())}
    with st.container(border=True, key=f"handover-{one.id}"):
        day = local_day(one.handed_at) if one.handed_at else say("handover.prepared")
        thing = one.part_words or say("handover.a_part")
        what = say("handover.thing_instrument") if one.thing == "instrument" else thing
        st.markdown(f"### {plain(day)}  {plain(say(f'handover_paper.{one.step}'))}: {plain(what)}")
        giver, taker = (names.get(who or "", "") for who in (one.giver_id, one.taker_id))
        facts = [f"{giver} → {taker}" if giver or taker else ""]
        if one.carrier_id:
            facts.append(say("handover.by_carrier", who=names.get(one.carrier_id, ""), number=one.consignment))
        if one.value_minor is not None:
            facts.append(say("handover.value_said", amount=shown(one.value_minor, one.currency)))
        if one.due_on:
            facts.append(say("handover.due_back" if one.step == "out" else "handover.due_ready", day=one.due_on))
        st.markdown(plain(" · ".join(filter(None, facts))))
        if one.packed:
            st.caption(plain(say("handover.along_said", what=", ".join(map(packed_words, one.packed)))))
        for words in (one.packing, one.condition):
            if words:
                st.markdown(plain(words))
        for code in ("asked", "untouched", "keep", "fragile"):
            if getattr(one, code):
                st.markdown(f"**{say(f'specialist.{code}')}** {plain(getattr(one, code))}")
        with st.container(key=f"condition-photos-{one.id}"):
            _pictures(photos_of(desk(), one))
        _papers(job, one)


def packed_words(item: Packed) -> str:
    kind = say(f"handover.packed_{item.kind.replace(' ', '_')}")
    count = f"{item.count} × " if item.count != 1 else ""
    return count + (f"{kind}: {item.words}" if item.words and item.kind != "other" else item.words or kind)


def _pictures(photos: tuple[Photo, ...]) -> None:
    for row in range(0, len(photos), ACROSS):
        for column, photo in zip(st.columns(ACROSS), photos[row : row + ACROSS], strict=False):
            column.markdown(picture(f"/bench/thumb/{photo.id}", photo.caption or photo.file_name))


def _papers(job: Job, one: Handover) -> None:
    with st.container(horizontal=True, gap="small"):
        st.download_button(
            say("handover.paper"),
            lambda: handover_paper(desk(), one),
            file_name=paper_name(desk(), one, say("handover.paper_file")),
            mime="application/pdf",
            key=f"paper-{one.id}",
        )
        if one.step == "out":
            st.download_button(
                say("handover.specialist"),
                lambda: specialist_paper(desk(), one),
                file_name=paper_name(desk(), one, say("handover.specialist_file")),
                mime="application/pdf",
                key=f"specialist-{one.id}",
            )
        if one.step in ("out", "returned"):
            st.download_button(
                say("handover.label"),
                lambda: case_label(desk(), one),
                file_name=paper_name(desk(), one, say("handover.label_file")),
                mime="application/pdf",
                key=f"label-{one.id}",
            )
        if not one.handed_at and st.button(say("handover.now"), key=f"now-{one.id}", type="primary"):
            with told():
                hand_over(desk(), one)
                again()
    if one.signed_by:
        said = say("handover.signed_said", who=one.signed_by, day=local_day(one.signed_at))
        st.markdown(f"✓ {plain(said)}")
    for file in papers_of(desk(), job, one):
        path = desk().store.vault.path(file.sha256)
        st.download_button(
            plain(file.file_name),
            path.read_bytes,
            file_name=file.file_name,
            key=f"file-{file.id}",
            mime=file.media_type,
        )
    with st.expander(say("handover.more")):
        with st.form(f"sign-{one.id}", border=False):
            name = st.text_input(say("handover.signed_by"), one.signed_by)
            if st.form_submit_button(say("handover.keep_signed")):
                with told():
                    sign(desk(), one, name)
                    again()
        _correct(one)
        turn = st.session_state.get(f"filed-{one.id}", 0)
        nature = st.selectbox(
            say("handover.nature"), FILED, format_func=lambda n: say(f"handover.nature_{n}"), key=f"nature-{one.id}"
        )
        files = st.file_uploader(say("handover.file"), accept_multiple_files=True, key=f"upload-{one.id}-{turn}")
        if files and st.button(say_n("handover.keep_files", len(files)), key=f"keep-{one.id}"):
            with told():
                for file in files:
                    file_paper(desk(), job, one, file.name, file.getvalue(), nature)
                st.session_state[f"filed-{one.id}"] = turn + 1
                again()
        if st.button(say("handover.remove"), key=f"remove-{one.id}"):
            with told():
                remove_handover(desk(), one)
                taken_away("handover", one.id, say(f"handover_paper.{one.step}"))
                again()


def _correct(one: Handover) -> None:
    """The words of an entry, to be put right."""
    fields = ["part_words"] if one.thing == "part" else []
    fields += ["consignment", "packing", "condition"]
    fields += ["asked", "untouched", "fragile", "keep"] if one.step == "out" else []
    with st.form(f"correct-{one.id}-{one.version}", border=False):
        values = {}
        for field in fields:
            label = f"specialist.{field}" if field in ("asked", "untouched", "fragile", "keep") else f"handover.{field}"
            values[field] = st.text_area(
                say(label), getattr(one, field), height=68, key=f"{field}-{one.id}-{one.version}"
            )
        if st.form_submit_button(say("handover.correct")):
            with told():
                keep_handover(desk(), replace(one, **{field: text.strip() for field, text in values.items()}))
                again()

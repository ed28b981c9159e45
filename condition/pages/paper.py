"""The papers of a job, one for each reader: looked over, chosen, made, handed out."""

from __future__ import annotations

from pathlib import Path

import streamlit as st

from condition.flow.papers import page_count
from condition.flow.readers import EVERYTHING, as_usual, choice_of, choose_paper, paper_for, paper_path
from condition.flow.sheets import condition_sheet, mapped_faces
from condition.pages.frame import again, desk, job_heading, picture, plain, told
from condition.records.job import Job
from condition.records.reader import READERS, WITHHELD, Reader
from condition.records.sheet import ConditionSheet
from condition.words import say, say_n

ACROSS = 2


def show() -> None:
    card = job_heading()
    if card is None:
        return
    sheet = condition_sheet(desk(), card.job)
    reader = _readers(card.job, sheet)
    made = paper_path(desk(), card.job, reader)
    left, right = st.columns([1, 2], gap="large")
    with left:
        if made.exists():
            st.download_button(
                say("paper.download"),
                made.read_bytes(),
                file_name=f"{card.job.name} {say(f'reader.overline_{reader}').lower()}.pdf",
                mime="application/pdf",
                width="stretch",
                type="primary",
            )
        _choice(card.job, reader)
        _readiness(sheet)
    with right:
        if made.exists():
            _pages(card.job, reader, made)
        else:
            st.write(say("paper.none_yet"))
            columns = st.columns(ACROSS)
            for number, name in enumerate(face.view.name for face in mapped_faces(sheet)):
                with columns[number % ACROSS]:
                    st.markdown(f"### {plain(name)}")
                    st.markdown(picture(f"/bench/map/{card.job.id}/{number}.svg", say("paper.map_of", face=name)))


def _readers(job: Job, sheet: ConditionSheet) -> Reader:
    """One button for each reader: it makes the paper and shows it."""
    chosen: Reader = st.session_state.get("reader", READERS[0])
    with st.container(horizontal=True, key="readers"):
        for reader in READERS:
            kind = "primary" if reader == chosen else "secondary"
            if st.button(say(f"reader.{reader}"), type=kind, key=f"for-{reader}", disabled=not sheet.photos):
                st.session_state["reader"] = reader
                with told(), st.spinner(say("paper.making")):
                    paper_for(desk(), job, reader, paper_path(desk(), job, reader))
                    again()
    return chosen


def _choice(job: Job, reader: Reader) -> None:
    """What this reader's paper holds and leaves out; kept as it is changed."""
    choice = choice_of(desk(), job, reader)
    turn = choice.version
    with st.expander(say("paper.sections")):
        sections = st.pills(
            say("paper.sections"),
            EVERYTHING,
            selection_mode="multi",
            default=choice.sections,
            format_func=lambda name: say(f"paper.section_{name}"),
            key=f"sections-{job.id}-{reader}-{turn}",
            label_visibility="collapsed",
        )
    with st.expander(say("paper.withheld"), expanded=bool(choice.withheld)):
        withheld = st.pills(
            say("paper.withheld"),
            WITHHELD,
            selection_mode="multi",
            default=choice.withheld,
            format_func=lambda one: say(f"reader.withheld_{one.replace(' ', '_')}"),
            key=f"withheld-{job.id}-{reader}-{turn}",
            label_visibility="collapsed",
        )
        if withheld:
            st.caption(say("paper.read_through"))
    if set(sections) != set(choice.sections) or set(withheld) != set(choice.withheld):
        with told():
            choose_paper(desk(), choice, sections, withheld)
            again()
    if choice.version and st.button(say("paper.usual"), key=f"usual-{reader}"):
        as_usual(desk(), choice)
        again()


def _pages(job: Job, reader: Reader, made: Path) -> None:
    total, written = page_count(made), made.stat().st_mtime_ns
    for row in range(0, total, ACROSS):
        for column, number in zip(st.columns(ACROSS), range(row, min(row + ACROSS, total)), strict=False):
            caption = say("paper.page", number=number + 1)
            column.markdown(picture(f"/bench/paper/{job.id}/{reader}/{number}.png?{written}", caption))
            column.caption(caption)


def _readiness(sheet: ConditionSheet) -> None:
    """Say what the report will hold and what a reader would miss."""
    st.markdown(f"### {say('paper.holds')}")
    st.write(f"{say_n('page.photos', len(sheet.photos))} · {say_n('page.findings', len(sheet.findings))}")
    missing = [
        say("paper.no_client") if sheet.client is None and not sheet.job.own_stock else "",
        say("paper.no_request") if not (sheet.job.request or sheet.job.request_items) else "",
        say("paper.no_examiner") if not sheet.job.examiner else "",
        say("paper.no_map") if not any(entry.outline_mm for entry in sheet.views) else "",
        *(
            say("paper.no_evidence", number=entry.finding.number)
            for entry in sheet.findings
            if not entry.marks and not entry.measurements
        ),
        *(say("paper.no_scale", file=photo.file_name) for photo in sheet.photos if photo.plane is None),
    ]
    missing = [line for line in missing if line]
    if missing:
        st.markdown(f"### {say('paper.missing')}")
        for line in missing:
            st.markdown(f"- {line}")

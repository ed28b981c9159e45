"""The condition report: looked over, made, handed out."""

from __future__ import annotations

from pathlib import Path

import streamlit as st

from condition.flow.papers import condition_report, page_count, report_path
from condition.flow.sheets import condition_sheet, mapped_faces
from condition.pages.frame import desk, job_heading, picture, plain, told
from condition.records.job import Job
from condition.records.sheet import ConditionSheet
from condition.words import say, say_n

ACROSS = 2


def show() -> None:
    card = job_heading()
    if card is None:
        return
    sheet = condition_sheet(desk(), card.job)
    left, right = st.columns([1, 2], gap="large")
    with left:
        _readiness(sheet)
        made = report_path(desk(), card.job)
        if st.button(say("paper.make"), type="primary", width="stretch", disabled=not sheet.photos):
            with told(), st.spinner(say("paper.making")):
                condition_report(desk(), card.job, made)
        if made.exists():
            st.download_button(
                say("paper.download"),
                made.read_bytes(),
                file_name=f"{card.job.name} condition report.pdf",
                mime="application/pdf",
                width="stretch",
            )
    with right:
        if made.exists():
            _pages(card.job, made)
        else:
            st.write(say("paper.none_yet"))
            columns = st.columns(ACROSS)
            for number, name in enumerate(face.view.name for face in mapped_faces(sheet)):
                with columns[number % ACROSS]:
                    st.markdown(f"### {plain(name)}")
                    st.markdown(picture(f"/bench/map/{card.job.id}/{number}.svg", say("paper.map_of", face=name)))


def _pages(job: Job, made: Path) -> None:
    total, written = page_count(made), made.stat().st_mtime_ns
    for row in range(0, total, ACROSS):
        for column, number in zip(st.columns(ACROSS), range(row, min(row + ACROSS, total)), strict=False):
            caption = say("paper.page", number=number + 1)
            column.markdown(picture(f"/bench/paper/{job.id}/{number}.png?{written}", caption))
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

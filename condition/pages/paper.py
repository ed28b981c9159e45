"""The condition report: looked over, made, handed out."""

from __future__ import annotations

import streamlit as st

from condition.flow.papers import condition_report, page_pictures, report_path
from condition.flow.sheets import condition_sheet
from condition.pages.frame import desk, job_heading, told
from condition.records.sheet import ConditionSheet
from condition.words import say, say_n


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
            for number, picture in enumerate(page_pictures(made), 1):
                st.image(picture, caption=say("paper.page", number=number), width="stretch")
        else:
            st.write(say("paper.none_yet"))


def _readiness(sheet: ConditionSheet) -> None:
    """Say what the report will hold and what a reader would miss."""
    st.markdown(f"#### {say('paper.holds')}")
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
        st.markdown(f"#### {say('paper.missing')}")
        for line in missing:
            st.markdown(f"- {line}")

"""The papers of a return check: the before and after report, and a page for the client."""

from __future__ import annotations

import streamlit as st

from condition.flow.return_papers import before_after_report, client_summary, paper_path
from condition.pages.frame import desk, told
from condition.records.job import Job
from condition.records.return_check import ReturnCheck
from condition.words import say

PAPERS = {"report": before_after_report, "summary": client_summary}


def papers(job: Job, check: ReturnCheck) -> None:
    st.subheader(say("returns.papers"), anchor="papers")
    for column, (name, make) in zip(st.columns(2), PAPERS.items(), strict=True):
        with column:
            out = paper_path(desk(), check, name)
            if st.button(say(f"returns.make_{name}"), key=f"make-{name}", width="stretch"):
                with told(), st.spinner(say("returns.making")):
                    make(desk(), job, check, out)
            if out.exists():
                st.download_button(
                    say(f"returns.save_{name}"),
                    out.read_bytes(),
                    file_name=f"{job.name}-{say(f'returns.file_{name}')}.pdf",
                    mime="application/pdf",
                    key=f"save-{name}",
                    width="stretch",
                )

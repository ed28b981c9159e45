"""The rest of the return: readings and tests beside those of the intake, faults tried again, parts counted back in."""

from __future__ import annotations

import streamlit as st

from condition.flow.bench_sheet import bench_sheet
from condition.flow.return_rest import asked_and_not_back, counted_back
from condition.pages.frame import desk, plain
from condition.pages.side_by_side import side_by_side
from condition.records.job import Job
from condition.records.return_check import ReturnCheck
from condition.words import say


def the_rest(job: Job, check: ReturnCheck) -> None:
    sheet = bench_sheet(desk(), job, check.later)
    asked, away = asked_and_not_back(desk(), job)
    if sheet.readings or any(pair.before or pair.after for pair in sheet.tests):
        side_by_side(sheet)
    if sheet.faults:
        st.subheader(say("returns.faults"), anchor="faults-again")
        for entry in sheet.faults:
            fault = entry.fault
            kind = fault.own_kind or say(f"faults.kind_{fault.kind.replace(' ', '_')}")
            retest = say(f"faults.retest_{fault.retest.replace(' ', '_')}")
            st.markdown(f"**{plain(kind)}** {plain(fault.where)}: {plain(retest)} {plain(fault.retest_words)}")
    for code, lines in (("asked", asked), ("not_back", away)):
        if lines:
            st.subheader(say(f"return_paper.{code}"), anchor=code)
            st.markdown("\n".join(f"- {plain(label)}: {plain(text)}" for label, text in lines))
    counted = counted_back(desk(), job)
    if counted:
        st.subheader(say("return_paper.counted"), anchor="counted")
        st.markdown("\n".join(f"- {plain(line)}" for line in counted))

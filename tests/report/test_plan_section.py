"""The repair plan in the condition report: what is done and what is lost, by the numbers of the list; no prices."""

from __future__ import annotations

import io
import re
from dataclasses import replace

import bench_sheet
import pypdf

from condition.records.treatment import PlanEntry, Treatment
from condition.report.document import compile_pdf
from condition.words import say


def text_of(tmp_path, sheet) -> str:
    out = tmp_path / "report.pdf"
    compile_pdf(sheet, photo_pixels=bench_sheet.pixels_of, out=out, sections=("plan",))
    return " ".join(
        " ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(out.read_bytes())).pages).split()
    )


def planned() -> tuple[PlanEntry, ...]:
    job_id = bench_sheet.sheet().job.id
    glue = Treatment(
        bench_sheet.uid("glue"), job_id, what="Glue the top crack", how="hide glue, three cleats", why="It runs on.",
        reversible="in part", lost="nothing is taken away", done_on="2027-01-20", done_words="Closed & cleated <b>",
    )  # fmt: skip
    other = Treatment(
        bench_sheet.uid("bridge"), job_id, action="replace", what="A new bridge", option_group="bridge", chosen=False
    )
    spite = Treatment(bench_sheet.uid("pot"), job_id, what="Open the control", in_spite="the client insists")
    leave = Treatment(bench_sheet.uid("wear"), job_id, action="leave")
    return (PlanEntry(glue, "finding 1, crack"), PlanEntry(other), PlanEntry(spite), PlanEntry(leave, "finding 6"))


def test_the_plan_is_told_in_the_order_of_work(tmp_path):
    """Treatment proposals give method, reason, reversibility and loss (AIC Commentary 27; from memory)."""
    text = text_of(tmp_path, replace(bench_sheet.sheet(), plan=planned()))
    places = [text.index(words) for words in ("Glue the top crack", "A new bridge", "Open the control")]
    assert places == sorted(places)
    for words in (
        "finding 1, crack",
        "hide glue, three cleats",
        "It runs on.",
        "can be undone in part",
        "Lost of the original: nothing is taken away",
        "Done 2027-01-20: Closed & cleated <b>",
        "another way (bridge)",
        "Planned although it is left undisturbed: the client insists",
        "leave as it is",
    ):
        assert words in text
    assert not re.search(r"\d+\.\d\d (?:EUR|USD|GBP)", text)


def test_a_job_without_a_plan_has_no_such_heading(tmp_path):
    sheet = replace(bench_sheet.sheet(), plan=())
    out = tmp_path / "report.pdf"
    compile_pdf(sheet, photo_pixels=bench_sheet.pixels_of, out=out, sections=("plan", "limits"))
    text = "".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(out.read_bytes())).pages)
    assert say("report.plan") not in text

import io
import json
from decimal import Decimal

import pypdf
import pytest

from condition.__main__ import main
from condition.flow.desk import new_id
from condition.flow.estimates import add_line, answer_all, begin, send
from condition.flow.handovers import prepare
from condition.flow.people import person_named
from condition.records.estimate import EstimateLine


@pytest.fixture
def sent(desk, job):
    line = EstimateLine(new_id(), "Setup", unit="fixed", rate=Decimal("75.00"), quantity=Decimal(1))
    return send(desk, add_line(desk, begin(desk, job), line), at="2026-11-19T09:00:00Z")


def text_of(path) -> str:
    return " ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(path.read_bytes())).pages)


def test_the_estimate_is_written_and_its_sums_told(desk, sent, tmp_path, capsys):
    out, store = tmp_path / "estimate.pdf", str(desk.store.folder)
    assert main(["estimate", "2026-001", str(out), "--store", store, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["total"], told["currency"], told["sent"], told["accepted"]) == (
        "75.00", "EUR", "2026-11-19T09:00:00Z", None,
    )  # fmt: skip
    assert "75.00 EUR" in text_of(out)
    before = out.read_bytes()
    answer_all(desk, sent, "accepted")
    assert main(["estimate", "2026-001", str(out), "--store", store, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["accepted"] == "75.00"
    assert out.read_bytes() == before


def test_an_estimate_that_is_not_there_is_refused_in_one_line(desk, job, tmp_path, capsys):
    out = tmp_path / "estimate.pdf"
    assert main(["estimate", "2026-001", str(out), "--store", str(desk.store.folder)]) == 2
    assert len(capsys.readouterr().err.splitlines()) == 1
    assert not out.exists()


def test_a_handovers_papers_are_written_and_its_place_told(desk, job, tmp_path, capsys):
    store = str(desk.store.folder)
    who = person_named(desk, "L. Uthier", "specialist")
    prepare(desk, job, "intake", handed_at="2026-11-17T09:00:00Z")
    prepare(desk, job, "out", taker_id=who.id, handed_at="2026-11-24T09:00:00Z", due_on="2027-01-29", asked="Glue it.")
    for paper, words in (("sign", "Received by"), ("specialist", "Glue it."), ("label", "L. Uthier")):
        out = tmp_path / f"{paper}.pdf"
        assert main(["handover", "2026-001", str(out), "--paper", paper, "--store", store, "--json"]) == 0
        told = json.loads(capsys.readouterr().out)
        assert (told["where"], told["with"], told["due"]) == ("out", "L. Uthier", "2027-01-29")
        assert words in text_of(out)
    assert main(["handover", "2026-001", str(tmp_path / "x.pdf"), "--number", "3", "--store", store]) == 2
    assert "2 changes of hands" in capsys.readouterr().err

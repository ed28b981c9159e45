"""The paper for each reader holds what that reader needs, and nothing that was withheld is in the file anywhere."""

from __future__ import annotations

import json
from dataclasses import replace

import pikepdf
import pytest

from condition.errors import Refused
from condition.flow.archiving import verify
from condition.flow.desk import Desk, new_id
from condition.flow.findings import new_finding
from condition.flow.intake import take_in
from condition.flow.jobs import describe, open_job
from condition.flow.readers import EVERYTHING, USUAL, as_usual, choice_of, choose_paper, paper_for
from condition.flow.withholding import Secrets
from condition.records.finding import Finding
from condition.records.instrument import Instrument
from condition.records.person import Person
from condition.records.photo import Photo
from condition.records.reader import READERS, WITHHELD
from condition.report.document import SECTIONS
from condition.report.seal import ATTACHMENT
from condition.store import Store
from condition.words import say
from tests.browser import ROOT
from tests.report.pdf_contents import everything, shown_text

NAME, SURNAME = "Orlando Fenwhistle", "Fenwhistle"
ADDRESS, TELEPHONE = "17 Quagmire Steps", "0999 123 4567"
SERIAL = "QX-90817"
REQUEST = "Please make it zing again"
MAKER = "Brambleworks"
FILE = "orlandos_kitchen.jpg"


@pytest.fixture(scope="module")
def desk(tmp_path_factory):
    store = Store.open(tmp_path_factory.mktemp("readers") / "store")
    yield Desk(store, "tester")
    store.close()


@pytest.fixture(scope="module")
def whole_job(desk):
    job = open_job(desk, "2026-001", title="Test mandolin", family="mandolin")
    (taken,) = take_in(desk, job, [(FILE, ROOT / "demo_images" / "closeup_bridge.jpg")])
    assert taken.photo
    describe(
        desk,
        replace(
            desk.store.get(type(job), job.id),
            examiner="Petronella Oakumpicker",
            request=REQUEST,
            summary=f"Left by Mr {SURNAME} of {ADDRESS}; the label reads {SERIAL.lower()}.",
        ),
        replace(
            desk.store.get(Instrument, job.instrument_id), serial=f"{SERIAL}, inked inside", claimed_maker=MAKER,
            owner=f"{NAME}, since new",
        ),
        Person(new_id(), NAME, "client", f"{ADDRESS}\nLower Bog", TELEPHONE),
    )  # fmt: skip
    finding = new_finding(desk, job, "crack")
    with desk.store.write(new_id(), "tester") as work:
        work.put(replace(work.get(Finding, finding.id), observation=f"{NAME} heard it open. Call {TELEPHONE}."))
    return desk.store.get(type(job), job.id)


@pytest.fixture(scope="module")
def papers(desk, whole_job, tmp_path_factory):
    """Every reader's paper, as usual."""
    folder = tmp_path_factory.mktemp("papers")
    return {reader: paper_for(desk, whole_job, reader, folder / f"{reader}.pdf") for reader in READERS}


SECRETS = {
    "names": [NAME, SURNAME, "Petronella", "Oakumpicker", "Orlando"],
    "addresses": [ADDRESS, TELEPHONE, "Quagmire"],
    "serials": [SERIAL, SERIAL.lower()],
    "request": [REQUEST],
    "photo facts": [FILE, "orlandos"],
    "claims": [MAKER],
}


@pytest.mark.parametrize("reader", READERS)
def test_nothing_withheld_is_in_the_file_anywhere(papers, reader):
    pdf = papers[reader]
    held = everything(pdf).lower()
    for what in USUAL[reader].withheld:
        for secret in SECRETS.get(what, ()):
            assert secret.lower().encode() not in held, (what, secret)
            assert secret.lower().encode("utf-16-be") not in held, (what, secret)
    assert verify(pdf).ok


def test_what_is_not_withheld_is_shown(papers):
    text, held = shown_text(papers["record"]), everything(papers["record"])
    for secret in (NAME, SERIAL, REQUEST, MAKER, FILE, TELEPHONE):
        assert secret in text
        assert held.count(secret.encode()) > text.count(secret), "the attached data holds it as well"
    insurer = shown_text(papers["insurer"])
    assert SERIAL in insurer
    assert NAME in insurer


def test_the_paper_says_on_its_face_whom_it_is_for_and_what_it_leaves_out(papers, tmp_path):
    with pikepdf.open(papers["buyer"]) as document:
        del document.pages[1:]
        document.save(tmp_path / "first.pdf")
    face = shown_text(tmp_path / "first.pdf")
    assert "for a buyer" in face
    assert "leaves out: prices, declared values, names, addresses" in face


def test_the_data_attached_holds_only_what_the_paper_shows(desk, whole_job, papers):
    for reader in READERS:
        with pikepdf.open(papers[reader]) as document:
            facts = json.loads(document.attachments[ATTACHMENT].get_file().read_bytes())
        sections = choice_of(desk, whole_job, reader).sections
        assert ("findings" in facts) == bool({"maps", "findings"} & set(sections))
        assert ("photos" in facts) == bool({"photos", "hashes"} & set(sections))
        if "photo facts" in USUAL[reader].withheld:
            assert all(not photo["sha256"] for photo in facts.get("photos", ()))
            assert "job_id" not in facts


def test_the_pictures_carry_no_place_and_no_camera(desk, whole_job, papers):
    """The photo taken in says where it was taken (EXIF 2.32, GPS IFD); no picture of any paper does."""
    (photo,) = desk.store.find(Photo, job_id=whole_job.id)
    assert photo.has_location
    assert b"Exif\x00\x00" in desk.store.vault.path(photo.sha256).read_bytes()
    for pdf in papers.values():
        assert b"Exif\x00\x00" not in everything(pdf)


def test_a_choice_is_kept_for_its_job_and_can_be_as_usual_again(desk, whole_job, tmp_path):
    choice = choice_of(desk, whole_job, "public")
    kept = choose_paper(desk, choice, [*choice.sections, "findings"], [one for one in WITHHELD if one != "claims"])
    assert choice_of(desk, whole_job, "public") == kept
    pdf = paper_for(desk, whole_job, "public", tmp_path / "public.pdf")
    assert MAKER in shown_text(pdf)
    assert SURNAME.encode() not in everything(pdf)
    as_usual(desk, kept)
    assert choice_of(desk, whole_job, "public").sections == USUAL["public"].sections


def test_an_empty_or_unknown_choice_is_refused(desk, whole_job):
    choice = choice_of(desk, whole_job, "client")
    with pytest.raises(Refused, match=r"reader\.no_section"):
        choose_paper(desk, choice, [], [])
    with pytest.raises(Refused, match=r"reader\.unknown_section"):
        choose_paper(desk, choice, ["title", "nonsense"], [])
    with pytest.raises(Refused, match=r"reader\.unknown"):
        choice_of(desk, whole_job, "press")


def test_every_section_has_a_reader_and_the_record_holds_all():
    assert tuple(SECTIONS) == EVERYTHING
    for reader in READERS:
        assert USUAL[reader].sections[0] == "title"
        assert set(USUAL[reader].withheld) <= set(WITHHELD)


def test_every_section_and_every_reader_has_its_words():
    codes = [f"paper.section_{name}" for name in SECTIONS] + [f"reader.{one}" for one in READERS]
    codes += [f"reader.overline_{one}" for one in READERS]
    codes += [f"reader.withheld_{one.replace(' ', '_')}" for one in WITHHELD]
    assert [code for code in codes if say(code) == code] == []


def test_names_inside_other_words_stay():
    secrets = Secrets(("Ann Lee",), ("Lee",))
    assert secrets.out_of("Leeward side, ANN LEE said; Lee said") == "Leeward side, [left out] said; [left out] said"


DEMO_SECRETS = {
    "names": ["Harrowfen", "Tolland", "Marchbank", "Okkels", "Fenway"],
    "addresses": ["Granary", "stage@harrowfen.example"],
    "prices": ["810.96"],
    "values": ["4800.00", "4\u202f800", "4 800"],
    "serials": ["inked inside on the neck block"],
    "request": ["they are ours"],
    "photo facts": ["front.jpg", "closeup_bridge.jpg"],
    "claims": ["1978"],
}


@pytest.mark.parametrize("reader", ["specialist", "buyer", "public"])
def test_the_demonstration_leaks_nothing_to_whom_it_is_not_for(opened, reader, tmp_path):
    pdf = paper_for(opened.desk, opened.job, reader, tmp_path / "paper.pdf")
    held = everything(pdf).lower()
    for what in USUAL[reader].withheld:
        for secret in DEMO_SECRETS[what]:
            assert secret.lower().encode() not in held, (what, secret)
    text = shown_text(pdf)
    assert "octave mandolin" in text
    assert "Crack" in text

"""The before and after report and the client's page, read back with pypdf."""

from __future__ import annotations

import io
import re
from dataclasses import replace

import bench_sheet
import pypdf
import pytest

from condition.flow.withholding import Secrets, without
from condition.records.part import Part
from condition.records.reader import PaperFace
from condition.records.return_check import DeclaredChange, ReturnChange, ReturnCheck, ReturnPair, ReturnVerdict
from condition.records.return_sheet import DoubtGroup, ReturnEntry
from condition.records.shapes import Ring
from condition.records.sheet import ConditionSheet
from condition.records.strip_down import Bag, Screws, StripDownStep
from condition.records.treatment import PlanEntry, Treatment
from condition.report.before_after_paper import before_after_pdf, client_summary_pdf
from condition.report.before_after_rest import asked_and_done, not_back
from condition.report.document import compile_pdf
from condition.words import say, say_n

IDENTITY = (1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0)
RING = Ring(((600.0, 700.0), (640.0, 700.0), (640.0, 740.0), (600.0, 740.0)))


def uid(name: str) -> str:
    return bench_sheet.uid(f"return/{name}")


def returned(**fields: object) -> ConditionSheet:
    """The bench sheet with a return check: three findings judged, one accepted change, one open, one explained."""
    sheet = bench_sheet.sheet()
    front, other = sheet.photos[0], sheet.photos[1]
    first, second, third, new = (entry.finding for entry in sheet.findings[:4])
    check = ReturnCheck(
        uid("check"), sheet.job.id, declared=(DeclaredChange(uid("strings"), "new strings", "New set of eight."),),
        not_compared="The inside was not photographed.", begun_at="2026-01-02T10:00:00Z",
    )  # fmt: skip
    pair = ReturnPair(
        uid("pair"), sheet.job.id, check.id, front.id, other.id, confirmed=True, state="compared",
        homography=IDENTITY, overlap=0.97, share=0.41, compared_at="2026-01-03T10:00:00Z",
    )  # fmt: skip
    refused = replace(
        pair, id=uid("refused"), after_id=sheet.photos[2].id, state="refused", refused=("compare.unrelated", ())
    )

    def change(name: str, **more: object) -> ReturnChange:
        return ReturnChange(uid(name), sheet.job.id, check.id, pair.id, RING, RING, 12.3, 20.0, **more)

    def verdict(finding, proposed: str, **more: object) -> ReturnVerdict:
        return ReturnVerdict(uid(f"verdict{finding.number}"), sheet.job.id, check.id, finding.id, proposed, **more)

    entry = ReturnEntry(
        check,
        (pair, refused),
        (
            change("accepted", decision="accepted", finding_id=new.id, words="Nobody mentioned it."),
            change("open"),
            change("explained", decision="explained", declared_id=uid("strings")),
            change("dismissed", decision="dismissed", words="Dust on the lens."),
            change("doubt", reason="reflection"),
        ),
        (
            verdict(
                first,
                "repaired",
                why=(("return.why_closed_line", ()),),
                confirmed="repaired",
                confirmed_by="A. Nother",
            ),
            verdict(second, "as it was", why=(("return.why_no_change", ()),)),
            verdict(third, "not seen", why=(("return.unseen_card", ()),), confirmed="worse", words="By the loupe."),
        ),
        not_again=(sheet.photos[-1].id,),
    )  # fmt: skip
    return replace(sheet, returns=(entry,), **fields)


def read(data: bytes) -> str:
    return " ".join(" ".join((page.extract_text() or "").split()) for page in pypdf.PdfReader(io.BytesIO(data)).pages)


@pytest.fixture(scope="module")
def text() -> str:
    return read(before_after_pdf(returned(), photo_pixels=bench_sheet.pixels_of))


@pytest.fixture(scope="module")
def summary() -> bytes:
    return client_summary_pdf(returned(), photo_pixels=bench_sheet.pixels_of)


def test_new_damage_stands_before_the_verdicts_and_what_was_not_compared_last(text):
    order = [text.index(say(f"return_paper.{code}")) for code in ("new", "verdicts", "settled", "not_compared")]
    assert order == sorted(order)
    new = returned().findings[3].finding
    assert " ".join((new.observation or say(f"kind.{new.kind}")).split()[:4]) in text[: order[1]]
    assert say("return_paper.not_decided") in text[: order[1]]


def test_each_finding_has_its_verdict_and_who_said_it(text):
    body = text[text.index(say("return_paper.verdicts")) :]
    assert re.search(rf"{say('returns.verdict_repaired')}.*{say('return.why_closed_line')}", body)
    assert say("return_paper.confirmed", by="A. Nother") in body
    assert say("return_paper.only_proposed") in body
    assert "By the loupe." in body
    assert say("return_paper.overruled", proposed="not seen", why=say("return.unseen_card")) in body


def test_everything_explained_dismissed_or_in_doubt_is_told(text):
    assert "New set of eight. It explains 1 change." in text
    assert "Dust on the lens." in text
    assert say_n("return_paper.doubtful", 1, why=say("compare.reason_reflection")) in text


def test_what_is_put_aside_for_one_reason_is_told_once_and_counted():
    sheet = returned()
    (entry,) = sheet.returns
    dust = next(one for one in entry.changes if one.words == "Dust on the lens.")
    more = tuple(replace(dust, id=uid(f"dust{k}")) for k in range(3))
    text = read(
        before_after_pdf(
            replace(sheet, returns=(replace(entry, changes=(*entry.changes, *more)),)),
            photo_pixels=bench_sheet.pixels_of,
        )
    )
    assert text.count("Dust on the lens.") == 1
    assert say_n("return_paper.so_many", 4, words="Dust on the lens.") in text


def test_places_told_together_stand_with_their_pair_as_what_could_not_be_compared():
    sheet = returned()
    (entry,) = sheet.returns
    doubt = next(one for one in entry.changes if one.reason)
    group = DoubtGroup(entry.pairs[0].id, "raised", (doubt.id, *(uid(f"like{k}") for k in range(25))), 2.13, 745.2)
    text = read(
        before_after_pdf(replace(sheet, returns=(replace(entry, doubt=(group,)),)), photo_pixels=bench_sheet.pixels_of)
    )
    body = text[text.index(say("return_paper.not_compared")) :]
    name = sheet.photos[0].file_name
    assert (
        f"Raised parts, strings and metal seen from elsewhere: 26 places. {name}: 26 places, together about 7.5 cm²"
        in body
    )
    assert "2.1 % of what was compared" in body
    assert say_n("return_paper.doubtful", 1, why=say("compare.reason_reflection")) not in text


def test_what_could_not_be_compared_names_refused_pairs_and_photos_not_taken_again(text):
    sheet = returned()
    body = text[text.index(say("return_paper.not_compared")) :]
    assert "The inside was not photographed." in body
    assert say("compare.unrelated") in body
    assert say("return_paper.not_again", files=sheet.photos[-1].file_name) in body
    assert "41 % of the picture, was compared" in body


def test_the_pictures_of_a_pair_have_one_size():
    sheet = returned()
    entry = sheet.returns[0]
    alone = replace(sheet, returns=(replace(entry, verdicts=(), changes=entry.changes[:1]),))
    reader = pypdf.PdfReader(io.BytesIO(before_after_pdf(alone, photo_pixels=bench_sheet.pixels_of)))
    sizes = [image.image.size for image in reader.pages[0].images]
    assert len(sizes) >= 2
    assert sizes[0] == sizes[1]


def test_the_photos_are_named_with_their_hashes(text):
    joined = text.replace(" ", "")
    assert all(photo.sha256 in joined for photo in returned().photos)


def test_the_same_sheet_gives_the_same_bytes():
    one, two = (before_after_pdf(returned(), photo_pixels=bench_sheet.pixels_of) for _ in range(2))
    assert one == two


def test_the_clients_page_is_one_page_and_says_what_is_new(summary):
    reader = pypdf.PdfReader(io.BytesIO(summary))
    assert len(reader.pages) == 1
    told = read(summary)
    assert "1 thing is new and was not mentioned to us." in told
    assert "1 further change is not decided yet." in told
    assert "1 finding is repaired or better. 1 is as it was. 1 is worse or could not be seen." in told


def test_the_condition_report_holds_the_section_only_where_there_is_a_check(tmp_path):
    out = tmp_path / "report.pdf"
    for sheet, holds in ((returned(), True), (bench_sheet.sheet(), False)):
        compile_pdf(sheet, photo_pixels=bench_sheet.pixels_of, out=out, sections=("title", "before_after"))
        assert (say("return_paper.verdicts") in read(out.read_bytes())) is holds


def test_a_paper_without_photo_facts_names_no_file_and_no_person(tmp_path):
    sheet = returned()
    face = PaperFace("public", ("names", "photo facts"))
    seen = without(sheet, face, Secrets((), ()))
    out = tmp_path / "public.pdf"
    compile_pdf(seen, photo_pixels=bench_sheet.pixels_of, out=out, sections=("before_after",))
    told = read(out.read_bytes())
    assert say("return_paper.verdicts") in told
    assert not [photo.file_name for photo in sheet.photos if photo.file_name in told]
    assert "A. Nother" not in told


def test_what_was_asked_stands_beside_what_was_done():
    sheet = bench_sheet.sheet()
    job = replace(sheet.job, request_items=("Close the crack", "Look at the frets"))
    mended = Treatment(
        uid("t1"), job.id, "request", request="Close the crack", action="repair", what="glue", done_on="2027-01-20",
        done_words="glued and cleated",
    )  # fmt: skip
    own = Treatment(uid("t2"), job.id, "own", action="repair", what="Dress the nut")
    lines = asked_and_done(job, (PlanEntry(mended), PlanEntry(own)))
    assert lines == [
        ("Asked", "Close the crack: repair, done 2027-01-20 glued and cleated"),
        ("Asked", "Look at the frets: no treatment stands against it"),
        ("Planned", "Dress the nut: repair, not marked as done"),
    ]


def test_parts_that_are_not_back_are_named_with_where_they_are():
    bag = Bag(uid("bag"), uid("job"), 3, "armrest", stays="kept by the owner")
    parts = (
        Part(uid("p1"), uid("job"), "Armrest", place="bag", bag_id=bag.id),
        Part(uid("p2"), uid("job"), "Coil", place="out", out_to="a winder"),
        Part(uid("p3"), uid("job"), "Bridge"),
    )
    told = dict(not_back(parts, (bag,)))
    assert set(told) == {"Armrest", "Coil"}
    assert "3" in told["Armrest"]
    assert "a winder" in told["Coil"]


def test_the_clients_page_ends_each_sentence_once_and_says_what_cannot_be_told():
    sheet = returned()
    (entry,) = sheet.returns
    about = sheet.findings[0].finding
    done = Treatment(
        uid("t"), sheet.job.id, "finding", about.id, action="repair", chosen=True, what="Glue it",
        done_on="2026-01-03", done_words="Glued; the line stays visible.",
    )  # fmt: skip
    group = DoubtGroup(entry.pairs[0].id, "light", tuple(uid(f"light{k}") for k in range(40)), 2.0)
    sheet = replace(sheet, plan=(PlanEntry(done, ""),), returns=(replace(entry, doubt=(group,)),))
    text = read(client_summary_pdf(sheet, photo_pixels=bench_sheet.pixels_of))
    assert "the line stays visible." in text
    assert ".." not in text
    assert say_n("return_paper.n_apart", 40) in text


def test_bags_and_screws_are_counted_back_in():
    sheet = returned()
    assert say("return_paper.counted") not in read(before_after_pdf(sheet, photo_pixels=bench_sheet.pixels_of))
    step = StripDownStep(
        uid("step"), sheet.job.id, 1, "jack plate", screws=(Screws(4, "jack plate", back=3),), taken_at="2026-01-01",
        back_at="2026-01-03", over_reason="Its thread is worn.",
    )  # fmt: skip
    text = read(before_after_pdf(replace(sheet, strip_down=(step,)), photo_pixels=bench_sheet.pixels_of))
    body = text[text.index(say("return_paper.counted")) :]
    assert say("strip_down.closing", bags=0, screws=1) in body
    assert "Its thread is worn." in body

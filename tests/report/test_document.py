"""The PDF read back with pypdf and pikepdf. Rows CR-.. are those of the recording practice they name:
CR-30 numbering of maps (common practice; ICCROM GraDoc seminar 1999), CR-32 what each sheet carries (Spectrum 5.0;
AIC Commentary 24), CR-11 observation apart from interpretation (AIC Commentary 25)."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from decimal import Decimal

import bench_sheet
import numpy as np
import pikepdf
import pypdf
import pytest
from PIL import Image

from condition.errors import Refused
from condition.records.legend import KINDS
from condition.records.measurement import as_text
from condition.report.document import compile_pdf
from condition.report.proof import facts_in
from condition.words import say


def compiled(tmp_path, sheet, **other) -> bytes:
    out = tmp_path / "report.pdf"
    compile_pdf(sheet, photo_pixels=bench_sheet.pixels_of, out=out, **other)
    return out.read_bytes()


@pytest.fixture(scope="module")
def data(tmp_path_factory) -> bytes:
    return compiled(tmp_path_factory.mktemp("report"), bench_sheet.sheet())


@pytest.fixture(scope="module")
def texts(data) -> list[str]:
    return [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages]


def titled(texts: list[str], title: str) -> list[str]:
    return [text for text in texts if re.search(rf"^{title}$", text, re.MULTILINE)]


def map_pages(texts: list[str]) -> list[str]:
    return [text for text in texts if say("map.sheet") in text and say("map.base") in text]


def legend_numbers(text: str) -> list[int]:
    below = text[: text.index(say("map.object"))]
    numbers = []
    for kind in KINDS:
        for found in re.findall(rf"{say(f'kind.{kind}')}\s+(\d+(?:,\s*\d+)*)", below):
            numbers += [int(n) for n in found.split(",")]
    return numbers


def test_map_legend_and_list_carry_the_same_numbers(texts):
    """CR-30: every mark has a number, once in a legend and once in the list."""
    wanted = [entry.finding.number for entry in bench_sheet.sheet().findings]
    in_legends, on_maps = [], []
    for text in map_pages(texts):
        legend = legend_numbers(text)
        in_legends += legend
        lines = text[: text.index(say("map.object"))].splitlines()
        drawn = [int(line) for line in lines if line.strip().isdigit()]
        on_maps += [n for n in set(drawn) if drawn.count(n) == 2 or n in legend]
        assert all(str(n) in lines for n in legend), "each number stands alone in its disc"
    listed = []
    for text in texts:
        if text in map_pages(texts):
            continue
        for entry in bench_sheet.sheet().findings:
            kind = say(f"kind.{entry.finding.kind}").capitalize()
            if re.search(rf"{kind}\s.*{re.escape(entry.finding.place.split(',')[0])}", text):
                listed.append(entry.finding.number)
    assert sorted(in_legends) == wanted
    assert sorted(on_maps) == wanted
    assert sorted(listed) == wanted


def test_each_map_sheet_carries_its_facts(texts):
    """CR-32."""
    sheet = bench_sheet.sheet()
    pages = map_pages(texts)
    assert len(pages) == 4
    for number, text in enumerate(pages, 1):
        for fact in (sheet.job.name, sheet.job.examiner, sheet.compiled_at[:10], f"{number} of 4"):
            assert fact in text
        assert re.search(r"\w\.jpg \([0-9a-f]{8}\)", text), "base photo"
        assert "light" in text
    for text in pages[:3]:
        assert "neck" in text
        assert re.search(r"\d+ mm", text), "scale bar"
        assert re.search(r"1 : [\d.]+", text)


def test_words_and_measurements_stand_with_their_finding(texts):
    whole = " ".join(" ".join(texts).split())
    for entry in bench_sheet.sheet().findings:
        for measurement in entry.measurements:
            assert as_text(measurement) in whole
        assert " ".join(entry.finding.observation.split()) in whole


def test_interpretation_stands_apart_from_observation(texts):
    """CR-11: AIC Commentary 25."""
    whole = " ".join(" ".join(texts).split())
    entry = bench_sheet.sheet().findings[0].finding
    assert f"{entry.observation} {say('report.interpretation')} {entry.interpretation[:20]}" in whole


def test_every_photo_has_its_full_hash_and_none_is_cut(texts):
    whole = "\n".join(texts)
    for photo in bench_sheet.sheet().photos:
        assert f"\n{photo.sha256}\n" in whole


def test_pages_are_counted(texts):
    for number, text in enumerate(texts, 1):
        assert f"page {number} of {len(texts)}" in text


def test_the_map_is_vectors_and_the_photo_sheet_alone_bears_a_picture(data):
    reader = pypdf.PdfReader(io.BytesIO(data))
    pages = [page for page in reader.pages if say("map.base") in page.extract_text()]
    assert [len(page.images) for page in pages] == [0, 0, 0, 1]
    for page in pages[:3]:
        content = page.get_contents().get_data()
        assert len(re.findall(rb" (?:l|c)\b", content)) > 100


def streams(data: bytes) -> list[bytes]:
    found = [data]
    with pikepdf.open(io.BytesIO(data)) as pdf:
        for item in pdf.objects:
            if isinstance(item, pikepdf.Stream):
                found.append(item.read_raw_bytes())
                if item.get("/Subtype") != "/Image":
                    found.append(item.read_bytes())
        for name in pdf.attachments:
            found.append(pdf.attachments[name].get_file().read_bytes())
    return found


def test_nothing_leaks_from_photos_or_machine(data):
    """Every stream, attachment, XMP packet and picture is decoded, as a string in one cannot be seen from outside."""
    for stream in streams(data):
        for secret in (
            b"55501234",
            b"Benchlight",
            b"GPS",
            b"Exif\0",
            b"/root",
            b"/work",
            b"/tmp",
            b"ReportLab",
            b"reportlab.com",
        ):
            assert secret not in stream, secret


def test_embedded_pictures_hold_pixels_only(data):
    count = 0
    for page in pypdf.PdfReader(io.BytesIO(data)).pages:
        for picture in page.images:
            image = Image.open(io.BytesIO(picture.data))
            assert image.format == "JPEG"
            assert not image.getexif()
            assert not {"exif", "icc_profile", "comment", "photoshop"} & set(image.info)
            assert image.width <= 1320, "200 dpi on a page's width"
            count += 1
    assert count >= 15


def test_the_document_says_what_it_is(data):
    with pikepdf.open(io.BytesIO(data)) as pdf:
        assert pdf.Root.Lang == "en"
        assert pdf.Root.ViewerPreferences.DisplayDocTitle
        assert "2026-014" in str(pdf.docinfo["/Title"])
        assert pdf.docinfo["/Author"] == "Ines Varga"
        assert pdf.docinfo["/CreationDate"] == "D:20260304162000Z"
        with pdf.open_metadata() as meta:
            assert meta["dc:creator"] == ["Ines Varga"]
        with pdf.open_outline() as outline:
            assert [item.title for item in outline.root][:4] == [
                "Front",
                "Back",
                "Headstock front",
                "Neck joint, treble side",
            ]


def test_the_same_sheet_gives_the_same_bytes(data, tmp_path):
    assert compiled(tmp_path, bench_sheet.sheet()) == data


def test_fonts_are_embedded(data):
    for page in pypdf.PdfReader(io.BytesIO(data)).pages:
        used = set(re.findall(rb"(/F\S+) [\d.]+ Tf", page.get_contents().get_data()))
        assert used
        for name in used:
            font = page["/Resources"]["/Font"][name.decode()].get_object()
            assert "/FontFile2" in font["/FontDescriptor"].get_object(), font["/BaseFont"]


def odd():
    sheet = bench_sheet.sheet()
    first = sheet.findings[0]
    long_one = replace(first, finding=replace(first.finding, observation="Unendingly. " * 900))
    return replace(
        sheet,
        instrument=replace(sheet.instrument, title="Мандола <b>Ω</b> & «東京» 한국", description="x & <br/> " * 400),
        client=replace(sheet.client, name="Žofie Łęcka"),
        findings=(long_one, *sheet.findings[1:]),
    )


def test_names_of_other_scripts_and_markup_in_them_come_out_as_typed(tmp_path):
    reader = pypdf.PdfReader(io.BytesIO(compiled(tmp_path, odd(), paper="letter")))
    assert (reader.pages[0].mediabox.width, reader.pages[0].mediabox.height) == (612, 792)
    whole = "".join(page.extract_text() for page in reader.pages)
    assert "Мандола <b>Ω</b> & «東京»" in whole
    assert "한국" in whole
    assert "Žofie Łęcka" in whole
    assert len(re.findall(r"x\s+&\s+<br/>", whole)) == 400
    assert whole.count("Unendingly.") == 900
    assert say("report.missing_characters") not in whole


def test_a_character_no_font_has_is_told(tmp_path):
    sheet = bench_sheet.sheet()
    sheet = replace(sheet, instrument=replace(sheet.instrument, title="Mandolin \U0001f3b8"))
    whole = "".join(p.extract_text() for p in pypdf.PdfReader(io.BytesIO(compiled(tmp_path, sheet))).pages)
    assert "U+1F3B8 GUITAR" in whole


def test_an_empty_job_leaves_out_what_it_has_not(tmp_path):
    sheet = bench_sheet.sheet()
    empty = replace(
        sheet,
        job=type(sheet.job)(sheet.job.id, "J-1", sheet.instrument.id),
        instrument=type(sheet.instrument)(sheet.instrument.id, "Bare one"),
        client=None, photos=(), views=(), findings=(),
    )  # fmt: skip
    reader = pypdf.PdfReader(io.BytesIO(compiled(tmp_path, empty)))
    whole = "".join(page.extract_text() for page in reader.pages)
    assert "Bare one" in whole
    assert say("report.no_findings") in whole
    for absent in ("request", "reason", "serial", "materials", "hashes_why", "coverage"):
        assert say(f"report.{absent}") not in whole


def test_a_hundred_findings_flow_over_sheets_and_pages(tmp_path):
    reader = pypdf.PdfReader(io.BytesIO(compiled(tmp_path, bench_sheet.many(110), sections=("maps", "findings"))))
    pages = [page.extract_text() for page in reader.pages]
    sheets = [text for text in pages if say("map.base") in text]
    numbers = [n for text in sheets for n in legend_numbers(text)]
    assert len(sheets) == 3
    assert sorted(numbers) == list(range(1, 111))
    for text in sheets:
        assert len(re.findall(r"\(sheet \d of 3\)", text)) == 1


# --- what the PDF carries to be checked ---------------------------------------------------------------------------


def test_the_facts_agree_with_an_untouched_report(data):
    facts, problems = facts_in(data)
    assert problems == ()
    assert [one["number"] for one in facts["findings"]] == list(range(1, 11))
    assert [one["sha256"] for one in facts["photos"]] == [photo.sha256 for photo in bench_sheet.sheet().photos]


def changed(data: bytes, change) -> list[tuple[str, str]]:
    with pikepdf.open(io.BytesIO(data)) as pdf:
        change(pdf)
        buffer = io.BytesIO()
        pdf.save(buffer)
    return [(problem.path, problem.code) for problem in facts_in(buffer.getvalue())[1]]


def test_saving_again_without_change_is_no_alteration(data):
    assert changed(data, lambda pdf: None) == []


def test_a_page_that_was_altered_is_told(data):
    def other_words(pdf):
        page = pdf.pages[5]
        page.contents_coalesce()
        page.Contents.write(page.Contents.read_bytes().replace(b" re", b" re ", 1) + b"\n0 0 10 10 re f")

    assert changed(data, other_words) == [("page 6", "seal.page_altered")]


def test_an_exchanged_picture_is_told(data):
    def other_picture(pdf):
        (picture,) = pdf.pages[4].resources.XObject.values()
        buffer = io.BytesIO()
        Image.fromarray(np.zeros((int(picture.Height), int(picture.Width), 3), np.uint8)).save(buffer, "JPEG")
        picture.write(buffer.getvalue(), filter=pikepdf.Name.DCTDecode)

    assert ("page 5", "seal.page_altered") in changed(data, other_picture)


def test_pages_taken_out_or_written_over_are_told(data):
    def note_over(pdf):
        pdf.pages[0].Annots = pdf.make_indirect(
            pikepdf.Array(
                [pikepdf.Dictionary(Type=pikepdf.Name.Annot, Subtype=pikepdf.Name.FreeText, Rect=[0, 0, 9, 9])]
            )
        )

    assert ("pages", "seal.page_count") in changed(data, lambda pdf: pdf.pages.__delitem__(3))
    assert changed(data, note_over) == [("page 1", "seal.page_annotated")]


def test_other_facts_are_told(data):
    def other_facts(pdf):
        spec = pdf.attachments["condition-facts.json"]
        text = spec.get_file().read_bytes().replace(b"113.40", b"213.40")
        pdf.attachments["condition-facts.json"] = pikepdf.AttachedFileSpec(
            pdf, text, filename="condition-facts.json", description=spec.description
        )

    assert changed(data, other_facts) == [("condition-facts.json", "seal.facts_altered")]


@pytest.mark.parametrize("bad", [b"", b"%PDF-1.7\n", b"PK\x03\x04"])
def test_what_is_no_report_is_refused(bad):
    with pytest.raises(Refused) as caught:
        facts_in(bad)
    assert caught.value.code == "seal.no_pdf"


def test_a_pdf_of_somebody_else_is_refused():
    buffer = io.BytesIO()
    with pikepdf.new() as pdf:
        pdf.add_blank_page()
        pdf.save(buffer)
    with pytest.raises(Refused) as caught:
        facts_in(buffer.getvalue())
    assert caught.value.code == "seal.no_facts"


def test_shares_of_an_uncertainty_add_up():
    """JCGM 100:2008, 5.1.2: variances add, so 3 and 4 make 5 and their shares 0.36 and 0.64."""
    from condition.records.measurement import Contribution, Measurement
    from condition.report.method import variance_shares

    one = Measurement(
        "length", 100.0, "mm", 10.0, "photo", parts=(Contribution("lens", 3.0), Contribution("pick", 4.0))
    )
    shares = variance_shares([one, one])
    assert [(name, Decimal(f"{share:.6f}")) for name, share in shares] == [
        ("pick", Decimal("0.640000")),
        ("lens", Decimal("0.360000")),
    ]


def test_methods_are_told_in_words():
    from condition.report.method import method_words

    assert method_words("ring area 1") == "area inside the drawn ring (1)"
    assert method_words("path length 1, weighted") == "length along the path (1), photos weighted by their ±"
    assert method_words("counted") == "marks counted"
    assert method_words("own way 3") == "own way (3)"

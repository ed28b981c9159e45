"""The printed sheet at true size: rasterised by another program and measured."""

from __future__ import annotations

import io
import shutil
import subprocess

import numpy as np
import pytest
from PIL import Image

from condition.imaging.markers import find_cards
from condition.report.card_sheet import PAPERS_MM, black_of, card_sheet_pdf, card_sheet_svg, sheet_for

DPI = 300
PX_PER_MM = DPI / 25.4

pytestmark = pytest.mark.skipif(not shutil.which("pdftoppm"), reason="needs poppler's pdftoppm")


@pytest.fixture(scope="module", params=["a4", "letter"])
def printed(request, tmp_path_factory) -> tuple[str, np.ndarray]:
    pdf = tmp_path_factory.mktemp("sheet") / "sheet.pdf"
    pdf.write_bytes(card_sheet_pdf(request.param))
    png = subprocess.run(
        ["pdftoppm", "-r", str(DPI), "-png", "-singlefile", str(pdf)], capture_output=True, check=True
    ).stdout
    return request.param, np.asarray(Image.open(io.BytesIO(png)).convert("RGB"))


def test_the_page_has_its_paper_size(printed):
    paper, picture = printed
    width, height = PAPERS_MM[paper]
    assert picture.shape[1] == pytest.approx(width * PX_PER_MM, abs=1)
    assert picture.shape[0] == pytest.approx(height * PX_PER_MM, abs=1)


def test_the_squares_are_40_mm_with_a_white_margin(printed):
    """One pixel is 0.085 mm; pdftoppm softens edges in coded values, so that both lie a quarter pixel outwards."""
    paper, picture = printed
    cards = find_cards(picture)
    assert [card.id for card in cards] == [0, 1, 2, 3, 4, 5]
    for card, (_, left, bottom) in zip(cards, sheet_for(paper).cards, strict=True):
        corners = np.array(card.corners_px) / PX_PER_MM
        sides = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
        assert sides == pytest.approx([40.0] * 4, abs=0.05)
        assert corners[0] == pytest.approx([left, PAPERS_MM[paper][1] - bottom - 40], abs=0.1)
        x0, y0 = ((corners.min(0) - 7.0) * PX_PER_MM).astype(int)
        x1, y1 = ((corners.max(0) + 7.0) * PX_PER_MM).astype(int)
        margin = picture[y0:y1, x0:x1].min(2).astype(int)
        inner = int(6.8 * PX_PER_MM)
        margin[inner:-inner, inner:-inner] = 255
        assert (margin < 200).mean() < 2e-3


def test_the_check_line_is_100_mm(printed):
    paper, picture = printed
    left, bottom = sheet_for(paper).check_line
    row = round((PAPERS_MM[paper][1] - bottom) * PX_PER_MM)
    band = picture[row - 3 : row + 4].min((0, 2)) < 160
    dark = np.flatnonzero(band)
    assert (dark[-1] - dark[0] + 1) / PX_PER_MM == pytest.approx(100.0, abs=0.3)
    assert dark[0] / PX_PER_MM == pytest.approx(left, abs=0.2)


def test_squares_are_vectors_and_the_sheet_is_the_same_every_time():
    data = card_sheet_pdf("a4")
    assert b"/Subtype /Image" not in data
    assert data == card_sheet_pdf("a4")
    assert b"PrintScaling" in data


def test_the_black_is_whole_and_without_seams():
    """Border 40 mm less inner 26.67 mm squared, and the black cells of the code within."""
    from condition.imaging.card_code import card_bits

    cell = 40 / 6
    for card_id in (0, 17, 49):
        area = sum(shape.area for shape in black_of(card_id))
        assert area == pytest.approx((36 - int(card_bits(card_id).sum())) * cell**2)


def test_the_screen_shows_the_same_sheet():
    svg = card_sheet_svg("letter")
    assert svg.startswith("<svg")
    assert svg.count("fill-rule") == 6

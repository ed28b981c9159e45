"""A label's QR code, read from the rendered page by OpenCV's own reader, says what the label says."""

from __future__ import annotations

import cv2
import numpy as np
import pypdfium2
import pytest

from condition.report.labels import LABEL_MM, MOST_BYTES, Label, code_for, labels_pdf

DPI = 200


def pages(data: bytes, dpi: int = DPI) -> list[np.ndarray]:
    with pypdfium2.PdfDocument(data) as document:
        return [np.ascontiguousarray(page.render(scale=dpi / 72).to_numpy()[:, :, ::-1]) for page in document]


def read_codes(picture: np.ndarray) -> set[str]:
    found, texts, _, _ = cv2.QRCodeDetectorAruco().detectAndDecodeMulti(picture)
    return set(texts) - {""} if found else set()


def bag(number: int, *lines: str) -> Label:
    title = f"Bag {number}"
    return Label(title, lines, "\n".join((title, *lines)))


def words_on(data: bytes) -> str:
    with pypdfium2.PdfDocument(data) as document:
        return " ".join(" ".join(page.get_textpage().get_text_range().split()) for page in document)


def test_a_small_page_says_in_its_code_what_it_says_in_words():
    label = bag(3, "Job B-101: octave mandolin", "armrest", "4 screws, armrest feet")
    data = labels_pdf([label])
    (page,) = pages(data)
    assert read_codes(page) == {label.payload}
    for line in (label.title, *label.lines):
        assert line in words_on(data)
    height, width = page.shape[:2]
    assert width / DPI * 25.4 == pytest.approx(LABEL_MM[0], abs=0.2)
    assert height / DPI * 25.4 == pytest.approx(LABEL_MM[1], abs=0.2)


def test_letters_beyond_ascii_come_through():
    label = bag(1, "Sattel und Stege, größtes Stück", "écrou de la tête")
    assert read_codes(pages(labels_pdf([label]))[0]) == {label.payload}


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_several_labels_on_a_sheet_are_all_read(paper):
    labels = [bag(n, f"Job B-101: octave mandolin, layer {n}") for n in range(1, 14)]
    sheets = pages(labels_pdf(labels, paper), 300)
    assert len(sheets) == 2
    assert set.union(*map(read_codes, sheets)) == {label.payload for label in labels}


def test_the_longest_code_is_still_read_and_says_that_it_was_cut():
    label = bag(9, *(f"{n} screws, plate hole {n} of the cover" for n in range(1, 40)))
    assert len(label.payload.encode()) > MOST_BYTES
    data = labels_pdf([label])
    (text,) = read_codes(pages(data, 300)[0])
    assert text.endswith("…")
    assert label.payload.startswith(text[:-1])
    assert len(text.encode()) <= MOST_BYTES
    assert "more lines" in words_on(data)


def test_the_code_has_the_standards_level_and_white_zone():
    """ISO/IEC 18004: four modules of white around; table 7 gives 362 bytes for version 14 at level M."""
    code = code_for("x" * MOST_BYTES)
    assert code.error == "M"
    assert code.version <= 14
    picture = pages(labels_pdf([bag(1, "one")]), 300)[0]
    modules = code_for("Bag 1\none").symbol_size(border=0)[0]
    half = picture[:, picture.shape[1] // 2 :].max(axis=2) < 100
    rows, columns = np.nonzero(half.any(axis=1))[0], np.nonzero(half.any(axis=0))[0]
    module = (rows[-1] - rows[0] + 1) / modules
    assert module == pytest.approx((columns[-1] - columns[0] + 1) / modules, rel=0.02)
    white = min(rows[0], half.shape[0] - 1 - rows[-1], columns[0], half.shape[1] - 1 - columns[-1])
    assert white >= 3.9 * module


def test_the_same_labels_give_the_same_bytes():
    labels = [bag(1, "one"), bag(2, "two")]
    assert labels_pdf(labels, "a4") == labels_pdf(labels, "a4")


def test_a_label_without_a_code_has_none():
    assert not read_codes(pages(labels_pdf([Label("Case", ("Handle with care",))]))[0])

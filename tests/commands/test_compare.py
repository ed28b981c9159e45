"""``compare`` as it is called."""

import json

import cv2
import numpy as np
import pairs
import pytest

from condition.__main__ import main


def written(path, rgb):
    cv2.imwrite(str(path), rgb[..., ::-1])
    return str(path)


@pytest.fixture(scope="module")
def cup():
    return pairs.photograph("coffee")


@pytest.fixture(scope="module")
def files(tmp_path_factory, cup):
    folder = tmp_path_factory.mktemp("pair")
    changed = cup.copy()
    cv2.circle(changed, (300, 120), 10, (40, 60, 160), -1, cv2.LINE_AA)
    view = pairs.pose(600, 400, 7, 5, 0.96)
    return written(folder / "before.png", cup), written(folder / "after.png", pairs.taken_anew(changed, view, 2)), view


def test_the_json_has_the_registration_and_each_change(files, capsys):
    before, after, view = files
    assert main(["compare", before, after, "--json"]) == 0
    out, err = capsys.readouterr()
    told = json.loads(out)
    assert err == ""
    assert {"homography", "residual_px", "overlap"} <= set(told["registration"])
    assert np.array(told["registration"]["homography"]) / view == pytest.approx(1, abs=0.2)
    (change,) = told["changes"]
    assert {"ring_before", "ring_after", "delta_e"} <= set(change)
    assert "area" not in change
    assert np.array(change["ring_before"]).mean(0) == pytest.approx((300.5, 120.5), abs=2)
    assert change["delta_e"] > 20
    assert all("reason" in doubtful for doubtful in told["doubtful"])


def test_plain_words_say_what_was_found(files, capsys):
    before, after, _ = files
    assert main(["compare", before, after]) == 0
    out = capsys.readouterr().out
    assert "1 change" in out
    assert "px" in out.splitlines()[0]


@pytest.mark.parametrize(
    ("after", "word"),
    [
        (lambda cup: np.zeros_like(cup), "black"),
        (lambda cup: cup[:, ::-1], "mirrored"),
        (lambda cup: pairs.photograph("chelsea"), "same instrument"),
        (lambda cup: cv2.GaussianBlur(cup, (0, 0), 12), "blurred"),
        (lambda cup: cup[:, 300:], "whole of it"),
    ],
    ids=["black", "mirrored", "unrelated", "blurred", "half out of frame"],
)
def test_a_pair_that_cannot_be_compared_ends_with_2_and_one_line(cup, tmp_path, capsys, after, word):
    before = written(tmp_path / "before.png", cup)
    other = written(tmp_path / "after.png", np.ascontiguousarray(after(cup)))
    assert main(["compare", before, other, "--json"]) == 2
    out, err = capsys.readouterr()
    assert json.loads(out) == {"error": err.strip()}
    assert word in err
    assert len(err.splitlines()) == 1


def test_a_file_that_is_no_photo_ends_with_2(files, tmp_path, capsys):
    bad = tmp_path / "words.jpg"
    bad.write_text("no photo")
    assert main(["compare", files[0], str(bad)]) == 2
    assert len(capsys.readouterr().err.splitlines()) == 1


def with_cards(rgb, middles, first):
    """Size cards, 2 px a mm: 80 px marker, 16 px white margin, laid on the face."""
    laid = rgb.copy()
    for number, (x, y) in enumerate(middles, first):
        laid[y - 56 : y + 56, x - 56 : x + 56] = 235
        marker = cv2.aruco.generateImageMarker(cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50), number, 80)
        laid[y - 40 : y + 40, x - 40 : x + 40] = np.where(marker > 127, 235, 25)[..., None]
    return laid


def test_cards_in_other_places_give_an_area_and_are_no_change(cup, tmp_path, capsys):
    large = cv2.resize(cup, None, fx=2, fy=2, interpolation=cv2.INTER_CUBIC)
    changed = large.copy()
    cv2.circle(changed, (600, 240), 24, (40, 60, 160), -1, cv2.LINE_AA)
    before = with_cards(large, ((150, 150), (1050, 650), (1040, 150)), 1)
    after = with_cards(changed, ((160, 500), (1000, 480), (330, 680)), 7)
    files = [written(tmp_path / name, rgb) for name, rgb in (("b.png", before), ("a.png", after))]
    assert main(["compare", *files, "--json"]) == 0
    (change,) = json.loads(capsys.readouterr().out)["changes"]
    area = change["area"]
    assert area["unit"] == "mm2"
    assert area["value"] == pytest.approx(np.pi * 12.1**2, abs=area["expanded"])
    assert area["expanded"] < 0.15 * area["value"]

import json

import cv2
import numpy as np
import pytest

from condition.__main__ import main
from tests.imaging.crack_set import crack_photo, share_within


@pytest.fixture(scope="module")
def crack(tmp_path_factory):
    photo = crack_photo("grain", 2)
    path = tmp_path_factory.mktemp("trace") / "crack.png"
    cv2.imwrite(str(path), photo.rgb[..., ::-1])
    return photo, str(path), [f"{x:.1f},{y:.1f}" for x, y in photo.ends]


def test_a_crack_is_followed_between_two_places(crack, capsys):
    photo, path, ends = crack
    assert main(["trace", path, *ends, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["line"][0] == pytest.approx(photo.ends[0], abs=0.1)
    assert told["line"][-1] == pytest.approx(photo.ends[1], abs=0.1)
    assert share_within(np.array(told["line"]), photo.centreline, 2) > 0.9
    assert told["width_px"] is None or told["width_px"] > 0
    assert told["tone"] == "dark"


def test_places_between_can_be_given_too(crack, capsys):
    photo, path, ends = crack
    x, y = photo.centreline[len(photo.centreline) // 2]
    assert main(["trace", path, ends[0], f"{x:.1f},{y:.1f}", ends[1], "--json"]) == 0
    line = np.array(json.loads(capsys.readouterr().out)["line"])
    assert np.hypot(*(line - (x, y)).T).min() < 0.1


def test_it_is_said_in_words_without_json(crack, capsys):
    _, path, ends = crack
    assert main(["trace", path, *ends]) == 0
    assert capsys.readouterr().out.startswith("Followed a crack darker than its ground over ")


@pytest.mark.parametrize(
    ("places", "sentence"),
    [
        (["10,10"], "give at least two"),
        (["10,10", "10,10"], "give at least two"),
        (["10,10", "9999,10"], "lies outside the photo of 420 x 420 px"),
        (["10,10", "ten,ten"], "'ten,ten' is not of the form X,Y"),
        (["10,10", "1,2,3"], "'1,2,3' is not of the form X,Y"),
        (["10,10", "nan,3"], "'nan,3' is not of the form X,Y"),
    ],
)
def test_places_of_no_use_end_with_2_and_one_sentence(crack, capsys, places, sentence):
    _, path, _ = crack
    assert main(["trace", path, *places, "--json"]) == 2
    told = capsys.readouterr()
    assert sentence in told.err
    assert len(told.err.splitlines()) == 1
    assert json.loads(told.out) == {"error": told.err.strip()}


def test_a_file_that_is_no_photo_ends_with_2(tmp_path, capsys):
    (tmp_path / "note.jpg").write_text("no photo")
    for name in ("note.jpg", "missing.jpg"):
        assert main(["trace", str(tmp_path / name), "1,1", "9,9"]) == 2
        assert name in capsys.readouterr().err


def test_the_tone_can_be_told(crack, capsys):
    _, path, ends = crack
    assert main(["trace", path, *ends, "--tone", "dark", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["tone"] == "dark"
    main(["trace", path, *ends, "--tone", "light", "--json"])
    captured = capsys.readouterr()
    assert "nothing stands out" in captured.err or json.loads(captured.out)["tone"] == "light"

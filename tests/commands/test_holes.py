import json

import cv2
import numpy as np
import pytest

from condition.__main__ import main
from tests.imaging.hole_set import hole_photo, matched


@pytest.fixture(scope="module")
def bored(tmp_path_factory):
    photo = hole_photo("wood", 1, (6, 12))
    path = tmp_path_factory.mktemp("holes") / "holes.png"
    cv2.imwrite(str(path), photo.rgb[..., ::-1])
    return photo, str(path)


def test_the_holes_in_a_box_are_proposed_with_their_diameters(bored, capsys):
    photo, path = bored
    side = photo.rgb.shape[0]
    assert main(["holes", path, "--box", f"0,0,{side},{side}", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    found = np.array([(*hole["centre"], hole["diameter_px"] / 2) for hole in told["holes"]])
    pairs = matched(found, photo.holes)
    assert len(pairs) >= 0.9 * len(photo.holes)
    assert np.median([abs(2 * found[i, 2] - 2 * photo.holes[j, 2]) for i, j in pairs]) < 0.4
    assert told["sure"] == sum(hole["sure"] for hole in told["holes"])
    assert not any("diameter" in hole for hole in told["holes"])


def test_sure_and_doubtful_ones_are_counted_in_words(bored, capsys):
    _, path = bored
    assert main(["holes", path, "--box", "0,0,220,220"]) == 0
    first, *lines = capsys.readouterr().out.splitlines()
    assert first.startswith("Found ")
    assert lines
    assert all("px" in line for line in lines)


@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        (["--box", "900,900,50,50"], "The box holds too little of the photo"),
        (["--box", "1,2,3"], "'1,2,3' is not of the form X,Y,W,H"),
        (["--box", "0,0,100,100", "--diameter", "3"], "'3' is not of the form LEAST,MOST"),
        ([], "--box"),
    ],
)
def test_a_box_of_no_use_ends_with_2(bored, capsys, options, sentence):
    assert main(["holes", bored[1], *options]) == 2
    assert sentence in capsys.readouterr().err


def test_a_diameter_in_millimetres_needs_a_size_card(bored, capsys):
    assert main(["holes", bored[1], "--box", "0,0,200,200", "--diameter", "2,4"]) == 2
    assert "card" in capsys.readouterr().err

import json
from uuid import uuid4

import cv2
import pytest

from condition.__main__ import main
from tests.imaging.grow_set import overlap, painted, rough_loop, worn_finish


@pytest.fixture(scope="module")
def worn(tmp_path_factory):
    photo = worn_finish(1)
    path = tmp_path_factory.mktemp("grow") / "worn.png"
    cv2.imwrite(str(path), photo.rgb[..., ::-1])
    return photo, str(path)


def annotation(loop, source="worn.png"):
    points = " ".join(f"{x:.2f},{y:.2f}" for x, y in loop)
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 520 520"><polygon points="{points}"/></svg>'
    return {
        "@context": "http://www.w3.org/ns/anno.jsonld",
        "id": f"urn:uuid:{uuid4()}",
        "type": "Annotation",
        "body": {"type": "TextualBody", "purpose": "tagging", "value": "finish loss"},
        "target": {"source": source, "selector": {"type": "SvgSelector", "value": svg}},
    }


def ring_told(capsys):
    told = json.loads(capsys.readouterr().out)
    return told, (told["ring"], *told["holes"])


def test_a_loss_is_grown_from_a_place_in_it(worn, capsys):
    photo, path = worn
    x, y = photo.deepest
    assert main(["grow", path, f"{x},{y}", "--json"]) == 0
    told, loops = ring_told(capsys)
    assert overlap(painted(photo.mask.shape, loops), photo.mask) > 0.9
    assert told["area_px2"] == pytest.approx(photo.mask.sum(), rel=0.05)


def test_a_rough_loop_from_an_annotation_file_snaps_to_the_loss(worn, capsys, tmp_path):
    photo, path = worn
    file = tmp_path / "loop.json"
    file.write_text(json.dumps(annotation(rough_loop(photo))))
    assert main(["grow", path, "--inside", str(file), "--json"]) == 0
    _, loops = ring_told(capsys)
    assert overlap(painted(photo.mask.shape, loops), photo.mask) > 0.9


def test_a_smaller_amount_gives_a_smaller_ring(worn, capsys):
    photo, path = worn
    x, y = photo.deepest
    areas = []
    for amount in ("0.2", "0.5"):
        assert main(["grow", path, f"{x},{y}", "--amount", amount, "--json"]) == 0
        areas.append(ring_told(capsys)[0]["area_px2"])
    assert areas[0] < areas[1]


@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        ([], "Say where to grow"),
        (["9999,1"], "lies outside the photo of 520 x 520 px"),
        (["here"], "'here' is not of the form X,Y"),
        (["9,9", "--amount", "2"], "The amount 2 is not between 0 and 1"),
        (["--inside", "nowhere.json"], "The annotation file nowhere.json cannot be read"),
    ],
)
def test_a_start_of_no_use_ends_with_2(worn, capsys, options, sentence):
    assert main(["grow", worn[1], *options]) == 2
    assert sentence in capsys.readouterr().err


def test_an_annotation_file_without_a_ring_on_the_photo_is_refused(worn, capsys, tmp_path):
    file = tmp_path / "other.json"
    file.write_text(json.dumps(annotation(((1, 1), (9, 1), (9, 9)), source="other.png")))
    assert main(["grow", worn[1], "--inside", str(file)]) == 2
    assert "other.png" in capsys.readouterr().err

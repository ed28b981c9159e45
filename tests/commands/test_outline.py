import json

import cv2
import pytest

from condition.__main__ import main
from tests.imaging.grow_set import overlap, painted
from tests.imaging.test_rim_support import body_photo


@pytest.fixture
def photo_of(tmp_path):
    def written(half_turn):
        rgb, ring, _ = body_photo(0, half_turn)
        path = tmp_path / "body.png"
        cv2.imwrite(str(path), rgb[..., ::-1])
        return str(path), painted(rgb.shape[:2], (ring.points,))

    return written


def test_a_body_in_plain_sight_is_taken_without_a_warning(photo_of, capsys):
    path, mask = photo_of(0.0)
    assert main(["outline", path, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert overlap(painted(mask.shape, (told["ring"],)), mask) > 0.98
    assert told["edge_share"] > 0.98
    assert told["advice"] == ""


def test_a_body_that_runs_into_the_bench_is_taken_with_one(photo_of, capsys):
    path, _ = photo_of(1.0)
    assert main(["outline", path]) == 0
    first, second = capsys.readouterr().out.splitlines()
    assert first.startswith("Took an outline of")
    assert "of this outline has no edge under it" in second


def test_a_ring_drawn_roughly_along_it_leads(photo_of, capsys, tmp_path):
    path, mask = photo_of(0.0)
    rough = tmp_path / "rough.json"
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1200 900">'
        '<polygon points="180,450 280,230 600,190 900,200 1060,450 900,700 600,710 280,670"/></svg>'
    )
    target = {"source": "body.png", "selector": {"type": "SvgSelector", "value": svg}}
    rough.write_text(
        json.dumps(
            {
                "@context": "http://www.w3.org/ns/anno.jsonld",
                "id": "urn:uuid:6a4f3bd4-5e0f-4a39-9a1d-5d3a0d0f0a11",
                "type": "Annotation",
                "body": {"type": "TextualBody", "purpose": "tagging", "value": "other"},
                "target": target,
            }
        )
    )
    assert main(["outline", path, "--inside", str(rough), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert overlap(painted(mask.shape, (told["ring"],)), mask) > 0.97

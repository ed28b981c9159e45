"""``scale``, ``measure`` and ``cards`` as a person at the command line meets them."""

from __future__ import annotations

import json
import math

import numpy as np
import pytest
from cameras import Camera, over_bench
from PIL import Image
from scenes import disc_paint, photo, with_cards

from condition.__main__ import main

PLACES = ((3, -95.0, -60.0, 0.3), (7, 90.0, -55.0, 2.0), (11, -80.0, 62.0, -1.0))


def camera() -> Camera:
    return over_bench(10, 40, 5, 420, 900, width=640, height=480)


def f35() -> int:
    return round(900 / 800 * math.hypot(36, 24))


def saved(path, pixels: np.ndarray, focal: int | None = None):
    exif = Image.Exif()
    if focal is not None:
        exif.get_ifd(0x8769)[0xA405] = focal
    Image.fromarray(pixels).save(path, quality=95, exif=exif)
    return path


@pytest.fixture(scope="module")
def pixels() -> np.ndarray:
    square = np.array([(-6.0, -6.0), (6, -6), (6, 6), (-6, 6)])
    hole = (disc_paint(20.0, 10.0, 4.0, 0.02), square + np.array([20.0, 10.0]))
    return photo(camera(), [*with_cards(PLACES), hole]).pixels


@pytest.fixture(scope="module")
def bench(pixels, tmp_path_factory):
    return saved(tmp_path_factory.mktemp("bench") / "bench.jpg", pixels, f35())


def told(capsys, *words) -> tuple[int, dict, str]:
    status = main([str(word) for word in words])
    out = capsys.readouterr()
    return status, json.loads(out.out), out.err


def test_scale_tells_cards_plane_and_what_it_is_worth(bench, capsys):
    status, seen, _ = told(capsys, "scale", bench, "--json")
    assert status == 0
    assert seen["cards"] == [3, 7, 11]
    assert 0 < seen["relative_expanded"] < 0.02
    assert seen["residual_px"] < 0.2
    matrix = np.array(seen["homography"])
    mm = np.array([[0, 0, 1.0], [100, 0, 1.0]]) @ matrix.T
    px = mm[:, :2] / mm[:, 2:]
    assert np.hypot(*(px[1] - px[0])) * seen["mm_per_px"] == pytest.approx(100, rel=0.1)


def test_scale_says_it_in_plain_words(bench, capsys):
    assert main(["scale", str(bench)]) == 0
    out = capsys.readouterr().out
    assert "Cards 3, 7, 11" in out
    assert "100 mm line" in out


def annotation(shape: str, kind: str, number: int, name: str = "bench.jpg") -> dict:
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 640 480">{shape}</svg>'
    return {
        "id": f"urn:uuid:00000000-0000-4000-8000-{number:012d}",
        "type": "Annotation",
        "body": [{"type": "TextualBody", "purpose": "tagging", "value": kind}],
        "target": {"source": name, "selector": {"type": "SvgSelector", "value": svg}},
    }


def page(tmp_path, *annotations):
    path = tmp_path / "marks.json"
    document = {"@context": "http://www.w3.org/ns/anno.jsonld", "type": "AnnotationPage", "items": list(annotations)}
    path.write_text(json.dumps(document))
    return path


def ring_of(points) -> str:
    px = camera().shoot(np.column_stack([points, np.zeros(len(points))]))
    return f'<polygon points="{" ".join(f"{x:.3f},{y:.3f}" for x, y in px)}"/>'


def test_measure_gives_true_sizes_within_their_uncertainty(bench, tmp_path, capsys):
    x, y = camera().shoot(np.array([[20.0, 10.0, 0.0]]))[0]
    marks = page(
        tmp_path,
        annotation(f'<circle cx="{x + 0.7:.2f}" cy="{y - 0.5:.2f}" r="9"/>', "screw hole", 1),
        annotation(ring_of(np.array([(-40.0, -30), (20, -30), (20, -10), (-40, -10)])), "stain", 2),
    )
    status, seen, _ = told(capsys, "measure", bench, "--marks", marks, "--json")
    assert status == 0
    hole, area = seen["marks"]
    assert abs(hole["diameter"]["value"] - 8.0) < max(hole["diameter"]["expanded"], 0.05)
    assert hole["diameter"]["unit"] == "mm"
    assert abs(area["area"]["value"] - 1200) < area["area"]["expanded"] < 150
    assert area["kind"] == "stain"


def test_measure_by_a_known_distance(bench, tmp_path, capsys):
    a, b = camera().shoot(np.array([(-100.0, 0, 0), (100.0, 0, 0)]))
    marks = page(tmp_path, annotation(ring_of(np.array([(-40.0, -30), (20, -30), (20, -10), (-40, -10)])), "stain", 2))
    known = f"{a[0]},{a[1]},{b[0]},{b[1]},200"
    status, seen, _ = told(capsys, "measure", bench, "--marks", marks, f"--known={known}", "--json")
    assert status == 0
    (area,) = seen["marks"]
    assert abs(area["area"]["value"] - 1200) < area["area"]["expanded"]
    assert any("tilt" in line for line in seen["advice"])


def test_one_bad_mark_does_not_stop_the_others(bench, tmp_path, capsys):
    flat = '<polygon points="100,100 200,100 300,100"/>'
    good = ring_of(np.array([(-40.0, -30), (20, -30), (20, -10), (-40, -10)]))
    marks = page(tmp_path, annotation(flat, "stain", 1), annotation(good, "stain", 2))
    status, seen, error = told(capsys, "measure", bench, "--marks", marks, "--json")
    assert status == 0
    assert "encloses nothing" in seen["marks"][0]["error"]
    assert "encloses nothing" in error
    assert "area" in seen["marks"][1]


def refused(capsys, *words) -> str:
    status, seen, error = told(capsys, *words, "--json")
    assert status == 2
    assert len(error.strip().splitlines()) == 1
    assert "Traceback" not in error
    assert seen["error"] == error.strip()
    return seen["error"]


def test_a_photo_without_cards_is_refused(tmp_path, capsys):
    empty = photo(camera(), [], grain=0.1).pixels
    sentence = refused(capsys, "scale", saved(tmp_path / "empty.jpg", empty))
    assert "No size card" in sentence
    assert "known distance" in sentence


def test_a_mirrored_photo_is_refused(pixels, tmp_path, capsys):
    assert "mirrored" in refused(capsys, "scale", saved(tmp_path / "flipped.jpg", pixels[:, ::-1]))


def test_ids_seen_twice_are_refused(tmp_path, capsys):
    twice = photo(camera(), with_cards([(4, -90, 0, 0.1), (4, 90, 20, 1.0)])).pixels
    assert "same number (4)" in refused(capsys, "scale", saved(tmp_path / "twice.jpg", twice))


def test_a_card_cut_by_the_frame_is_refused(tmp_path, capsys):
    whole = photo(camera(), with_cards([(4, -90, 0, 0.05)])).pixels
    ((x, _), *_) = camera().shoot(np.array([[-110.0, 0.0, 0.0]]))
    sentence = refused(capsys, "scale", saved(tmp_path / "cut.jpg", whole[:, round(x) + 4 :]))
    assert "frame cuts the size card (4)" in sentence


def leaning(pixels: np.ndarray, other: np.ndarray) -> np.ndarray:
    """The left third of one photo beside the rest of another: its card lies in another plane."""
    edge = pixels.shape[1] // 2
    return np.hstack([other[:, :edge], pixels[:, edge:]])


def test_cards_in_no_one_plane_are_refused(tmp_path, capsys):
    """Left half and right half are taken from two photos whose benches lean 24 degrees apart."""
    pair = [(3, -95.0, -60.0, 0.3), (7, 90.0, -55.0, 2.0)]
    first, second = (photo(over_bench(12, way, 0, 420, 900, 640, 480), with_cards(pair)).pixels for way in (0, 180))
    sentence = refused(capsys, "scale", saved(tmp_path / "bent.jpg", leaning(first, second), f35()))
    assert "3, 7" in sentence
    assert "one plane" in sentence
    assert "--cards" in sentence


def test_a_surface_at_the_cards_height_is_no_correction(bench, capsys):
    _, flat, _ = told(capsys, "scale", bench, "--json")
    _, zero, _ = told(capsys, "scale", bench, "--height=0", "--json")
    assert zero["mm_per_px"] == flat["mm_per_px"]
    assert zero["relative_expanded"] == flat["relative_expanded"]


@pytest.mark.parametrize(
    ("option", "words"),
    [("--height=nan", "cannot be"), ("--height=900", "at the camera"), ("--check-line=10", "no usable print"),
     ("--camera-distance=1", "cannot be"), ("--cards=x", "no list of card numbers"),
     ("--cards=40", "No usable card 40")],
)  # fmt: skip
def test_bad_options_get_one_sentence(bench, capsys, option, words):
    assert words in refused(capsys, "scale", bench, option)


@pytest.mark.parametrize(
    ("known", "words"),
    [("1,2,3", "no known distance"), ("10,10,10,10,100", "on top of each other")],
)
def test_bad_known_distances(bench, tmp_path, capsys, known, words):
    marks = page(tmp_path, annotation('<circle cx="100" cy="100" r="9"/>', "screw hole", 1))
    assert words in refused(capsys, "measure", bench, "--marks", marks, f"--known={known}")


def test_files_that_are_not_there(bench, tmp_path, capsys):
    assert "is not there" in refused(capsys, "scale", tmp_path / "none.jpg")
    assert "cannot be read" in refused(capsys, "measure", bench, "--marks", tmp_path / "none.json")


def test_a_surface_below_the_cards_is_told(bench, capsys):
    status, seen, _ = told(capsys, "scale", bench, "--height=-12", "--json")
    assert status == 0
    assert any("12 mm below" in line for line in seen["advice"])


def test_an_absurd_focal_length_widens_the_uncertainty(pixels, tmp_path, capsys):
    _, odd, _ = told(capsys, "scale", saved(tmp_path / "odd.jpg", pixels, 3), "--height=20", "--json")
    _, good, _ = told(capsys, "scale", saved(tmp_path / "good.jpg", pixels, f35()), "--height=20", "--json")
    assert odd["relative_expanded"] > good["relative_expanded"]
    assert any("focal length" in line for line in odd["advice"])


def test_cards_writes_the_sheet(tmp_path, capsys):
    out = tmp_path / "cards.pdf"
    status, seen, _ = told(capsys, "cards", out, "--paper", "letter", "--json")
    assert (status, seen["file"]) == (0, str(out))
    assert out.read_bytes().startswith(b"%PDF")
    assert [p.name for p in tmp_path.iterdir()] == ["cards.pdf"]
    assert "folder that exists" in refused(capsys, "cards", tmp_path / "none" / "x.pdf")

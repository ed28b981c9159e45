"""A photo judged as a whole, on photos made with known cards, blur and light, and on real files."""

from __future__ import annotations

import hashlib
import io
import json
import os
from pathlib import Path

import cv2
import numpy as np
import pytest
from cameras import over_bench
from PIL import Image
from scenes import photo, with_cards

from condition.errors import Refused
from condition.flow.inspection import METHOD, inspect_file, picture_folder, prepare, thumbnail
from condition.flow.pool import shared
from condition.words import say

SAMPLES = Path(__file__).parents[1] / "imaging" / "samples"
TILT_DEGREES = 12.0


@pytest.fixture(scope="module")
def bench() -> np.ndarray:
    """Cards 3 and 7 on a bench, taken with a 12 degree tilt."""
    camera = over_bench(TILT_DEGREES, 35, 5, 550, 1800, 2000, 1500)
    return photo(camera, with_cards([(3, -130, -80, 0.3), (7, 120, 90, -0.7)]), noise=1.5, seed=2).pixels


def kept(folder: Path, rgb: np.ndarray, name: str = "a.jpg", **options) -> str:
    path = folder / name
    Image.fromarray(rgb).save(path, quality=95, **options)
    return str(path)


def told(seen) -> str:
    return "\n".join(say(code, **dict(values)) for code, values in seen.advice)


def codes(seen) -> set[str]:
    return {code for code, _ in seen.advice}


def test_the_cards_are_seen_and_the_tilt_is_near_the_truth(tmp_path, bench):
    seen = inspect_file(kept(tmp_path, bench), "a.jpg")
    assert seen.card_ids == (3, 7)
    assert seen.tilt_degrees == pytest.approx(TILT_DEGREES, abs=4)
    assert "2 size cards seen (ids 3, 7)." in told(seen)
    assert (seen.width, seen.height, seen.format, seen.media_type) == (2000, 1500, "JPEG", "image/jpeg")
    assert not codes(seen) & {"photo.blurred", "photo.moved", "photo.glare", "photo.one_glare", "photo.no_card"}


def test_facts_come_from_the_file_itself(tmp_path):
    path = SAMPLES / "two_pictures.mpo"
    seen = inspect_file(str(path), "a.jpg")
    assert seen.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
    assert (seen.taken, seen.offset, seen.focal_35mm) == ("2025-09-07 14:16:43", "-04:00", 24)
    assert seen.camera
    assert not seen.has_location
    assert "photo.small" in codes(seen)


def test_width_and_height_are_those_of_the_upright_photo(tmp_path, bench):
    tags = Image.Exif()
    tags[0x0112] = 6
    seen = inspect_file(kept(tmp_path, bench, exif=tags), "a.jpg")
    assert (seen.width, seen.height) == (1500, 2000)
    assert seen.card_ids == (3, 7)


def test_a_blurred_photo_says_how_wide_its_edges_are(tmp_path, bench):
    """A Gaussian of 3 px (the photo's own blur is 0.8): 10 to 90 % in 2.563 x 3.1 = 8 px."""
    seen = inspect_file(kept(tmp_path, cv2.GaussianBlur(bench, (0, 0), 3.0)), "a.jpg")
    assert "photo.blurred" in codes(seen)
    assert seen.edge_px == pytest.approx(8, abs=1.2)
    assert f"Blurred: edges are {seen.edge_px:.0f} px wide." in told(seen)


def test_a_moved_photo_is_told_from_one_out_of_focus(tmp_path):
    """Cards square to the frame, the camera moved along the frame."""
    camera = over_bench(0, 0, 0, 550, 1500, 1500, 1200)
    still = photo(camera, with_cards([(3, -110, -70, 0.0), (7, 110, 70, 0.0)]), noise=1.0).pixels
    moved = cv2.GaussianBlur(still, (0, 0), sigmaX=6.0, sigmaY=0.1)
    assert "photo.moved" in codes(inspect_file(kept(tmp_path, moved), "a.jpg"))


def test_no_card_asks_for_one_and_one_card_for_a_second(tmp_path, bench):
    assert "No size card seen" in told(inspect_file(kept(tmp_path, bench[:500, :700]), "a.jpg"))
    one = bench.copy()
    one[:, 1000:] = 137
    seen = inspect_file(kept(tmp_path, one), "a.jpg")
    assert len(seen.card_ids) == 1
    assert "photo.one_card" in codes(seen)


def test_a_lamp_in_the_finish_and_a_dark_photo_are_told(tmp_path, bench):
    rows, columns = np.mgrid[:1500, :2000]
    lamp = 900 * np.exp(-((columns - 1000) ** 2 + (rows - 300) ** 2) / 2 / 40**2)
    glossy = np.clip(bench + lamp[..., None], 0, 255).astype(np.uint8)
    assert "photo.one_glare" in codes(inspect_file(kept(tmp_path, glossy), "a.jpg"))
    assert "photo.dark" in codes(inspect_file(kept(tmp_path, bench // 16), "a.jpg"))


def test_a_clock_that_runs_ahead_is_told(tmp_path, bench):
    tags = Image.Exif()
    tags.get_ifd(0x8769)[0x9003] = "2199:01:01 10:00:00"
    seen = inspect_file(kept(tmp_path, bench[:800, :800], exif=tags), "a.jpg")
    assert "2199-01-01 10:00:00" in told(seen)


def test_preparing_writes_tiles_and_thumbnail_once(tmp_path, bench):
    path, cache = kept(tmp_path, bench), tmp_path / "cache"
    seen = prepare(path, "a.jpg", str(cache))
    folder = picture_folder(cache, seen.sha256)
    assert folder == cache / seen.sha256 / METHOD
    assert json.loads((folder / "meta.json").read_text())["width"] == 2000
    assert thumbnail(cache, seen.sha256) == folder / "thumb.jpg"
    assert Image.open(folder / "0" / "0_0.jpg").size == (512, 512)
    stamp = os.stat(folder / "meta.json").st_mtime_ns
    assert prepare(path, "b.jpg", str(cache)) == seen
    assert os.stat(folder / "meta.json").st_mtime_ns == stamp


def test_the_cache_may_be_deleted_and_is_made_again(tmp_path, bench):
    path, cache = kept(tmp_path, bench[:700, :700]), tmp_path / "cache"
    seen = prepare(path, "a.jpg", str(cache))
    (cache / seen.sha256 / METHOD).rename(tmp_path / "gone")
    assert thumbnail(cache, seen.sha256) is None
    prepare(path, "a.jpg", str(cache))
    assert thumbnail(cache, seen.sha256) is not None


def test_a_refused_photo_leaves_nothing_in_the_cache(tmp_path):
    path = tmp_path / "a.jpg"
    path.write_bytes((SAMPLES / "focal_12_as_57.jpg").read_bytes()[:-60])
    with pytest.raises(Refused):
        prepare(str(path), "a.jpg", str(tmp_path / "cache"))
    assert not (tmp_path / "cache").exists()


@pytest.mark.parametrize(
    ("make", "code"),
    [
        (lambda folder: folder / "none.jpg", "photo.not_found"),
        (lambda folder: folder, "photo.not_a_file"),
        (lambda folder: folder / "a" / "\0", "photo.not_readable"),
    ],
)
def test_what_is_no_file_is_refused(tmp_path, make, code):
    with pytest.raises(Refused) as refusal:
        inspect_file(str(make(tmp_path)), "a.jpg")
    assert refusal.value.code == code


def test_a_pipe_is_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "a.jpg")
    with pytest.raises(Refused) as refusal:
        inspect_file(str(tmp_path / "a.jpg"), "a.jpg")
    assert refusal.value.code == "photo.not_a_file"


def test_the_same_comes_out_of_a_worker(tmp_path, bench):
    path = kept(tmp_path, bench[:900, :900])
    assert shared().submit(inspect_file, path, "a.jpg").result(timeout=120) == inspect_file(path, "a.jpg")


def slow_jpeg(side: int, scans: int) -> bytes:
    """A progressive JPEG of few bytes and much work: its last scan repeated, fewer times than is refused at once."""
    out = io.BytesIO()
    Image.new("RGB", (side, side), (90, 60, 30)).save(out, "JPEG", progressive=True)
    data = out.getvalue()
    last = data.rfind(b"\xff\xda")
    return data[:last] + data[last:-2] * scans + b"\xff\xd9"


def test_a_jpeg_that_takes_for_ever_is_stopped_by_the_pool(tmp_path):
    path = tmp_path / "slow.jpg"
    path.write_bytes(slow_jpeg(7000, 180))
    future = shared().submit(inspect_file, str(path), "slow.jpg", seconds=1.0)
    with pytest.raises(Refused) as refusal:
        future.result(timeout=60)
    assert (refusal.value.code, refusal.value.values["file"]) == ("photo.too_slow", "slow.jpg")

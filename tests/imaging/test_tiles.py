"""The tile pyramid: sizes by arithmetic, pixels against OpenCV's area filter, and the plug pulled half way."""

from __future__ import annotations

import json
import math
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image

from condition.imaging import tiles
from condition.imaging.thumbnails import thumbnail
from condition.imaging.tiles import TILE_PX, halved, whole_folder, write_pyramid


def ramp(width: int, height: int) -> np.ndarray:
    rows, columns = np.mgrid[:height, :width]
    across, down = columns * 255 // max(1, width - 1), rows * 255 // max(1, height - 1)
    return np.stack([across, down, np.full_like(rows, 90)], axis=-1).astype(np.uint8)


def stitched(folder: Path, level: int, width: int, height: int) -> np.ndarray:
    out = np.zeros((height, width, 3), np.uint8)
    for row in range(math.ceil(height / TILE_PX)):
        for col in range(math.ceil(width / TILE_PX)):
            tile = np.asarray(Image.open(folder / str(level) / f"{col}_{row}.jpg"))
            out[row * TILE_PX :, col * TILE_PX :][: tile.shape[0], : tile.shape[1]] = tile
    return out


@pytest.mark.parametrize(
    ("width", "height", "levels"), [(2100, 1301, 4), (513, 512, 2), (512, 512, 1), (1, 1, 1), (1025, 300, 3)]
)
def test_every_level_is_half_the_one_before_and_the_last_is_one_tile(tmp_path, width, height, levels):
    photo = ramp(width, height)
    write_pyramid(photo, tmp_path / "a")
    meta = json.loads((tmp_path / "a" / "meta.json").read_text())
    assert meta == {"width": width, "height": height, "tile": 512, "levels": levels}
    for level in range(levels):
        size = (math.ceil(width / 2**level), math.ceil(height / 2**level))
        shown = stitched(tmp_path / "a", level, *size)
        nearest = photo[:: 2**level, :: 2**level].astype(int)
        assert np.abs(shown.astype(int) - nearest).mean() < 4
    assert len(list((tmp_path / "a" / str(levels - 1)).iterdir())) == 1
    assert not (tmp_path / "a" / str(levels)).exists()


def test_halving_agrees_with_the_area_filter_and_keeps_places():
    photo = np.random.default_rng(4).integers(0, 256, (1200, 1600, 3), np.uint8)
    peer = cv2.resize(photo, (800, 600), interpolation=cv2.INTER_AREA)
    assert np.abs(halved(photo).astype(int) - peer).max() <= 1


def test_an_odd_last_row_and_column_count_twice():
    photo = np.array([[[10, 0, 0], [20, 0, 0], [50, 0, 0]]], np.uint8)
    assert halved(photo)[..., 0].tolist() == [[15, 50]]


def test_the_thumbnail_is_512_on_its_long_side_and_never_larger_than_the_photo(tmp_path):
    write_pyramid(ramp(1600, 900), tmp_path / "a")
    assert Image.open(tmp_path / "a" / "thumb.jpg").size == (512, 288)
    assert thumbnail(ramp(100, 50)).shape == (50, 100, 3)
    assert thumbnail(ramp(5000, 1)).shape == (1, 512, 3)


def test_tiles_carry_no_header_facts(tmp_path):
    write_pyramid(ramp(600, 400), tmp_path / "a")
    assert not Image.open(tmp_path / "a" / "0" / "0_0.jpg").getexif()


def test_a_pyramid_cut_off_half_way_is_never_seen(tmp_path, monkeypatch):
    written = []

    def full_disk(rgb, path, quality=90):
        written.append(path)
        if len(written) > 3:
            raise OSError(28, "No space left on device")
        path.write_bytes(b"x")

    monkeypatch.setattr(tiles, "write_jpeg", full_disk)
    with pytest.raises(OSError, match="No space left"):
        write_pyramid(ramp(2000, 1500), tmp_path / "deep" / "a")
    assert len(written) == 4
    assert list((tmp_path / "deep").iterdir()) == []


def test_the_first_of_two_writers_stays_and_the_second_does_no_harm(tmp_path):
    write_pyramid(ramp(600, 400), tmp_path / "a")
    before = (tmp_path / "a" / "0" / "0_0.jpg").read_bytes()
    write_pyramid(np.zeros((400, 600, 3), np.uint8), tmp_path / "a")
    assert (tmp_path / "a" / "0" / "0_0.jpg").read_bytes() == before
    assert [path.name for path in tmp_path.iterdir()] == ["a"]


def broken_off(folder: Path) -> None:
    with whole_folder(folder) as part:
        (part / "half").write_text("x")
        raise KeyError


def test_a_folder_is_placed_whole_or_not_at_all(tmp_path):
    with pytest.raises(KeyError):
        broken_off(tmp_path / "a")
    assert list(tmp_path.iterdir()) == []

"""How well round holes are found, beside both circle detectors of OpenCV and the blob detector of scikit-image.

``python -m tests.benchmarks.hole_finding [PHOTOS_PER_ROW]``; the photos are those of tests/imaging/hole_set.py with
seeds that no threshold was chosen on, and the 24 coins of scikit-image.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable

import cv2
import numpy as np
from skimage import data
from skimage.feature import blob_log

from condition.flow.assists import warm_up
from condition.imaging.holes import find_holes
from tests.imaging.grow_set import coins
from tests.imaging.hole_set import hole_photo, matched

FIRST_SEED = 300
BANDS = ((1.5, 3), (3, 6), (6, 12), (12, 30), (30, 60), (3, 30))

Found = np.ndarray
Way = Callable[[np.ndarray, tuple[float, float], bool], Found]


def ours(rgb: np.ndarray, band: tuple[float, float], bright: bool) -> Found:
    return _rows(find_holes(rgb, (0, 0, rgb.shape[1], rgb.shape[0]), band, bright=bright))


def ours_size_unknown(rgb: np.ndarray, band: tuple[float, float], bright: bool) -> Found:
    return _rows(find_holes(rgb, (0, 0, rgb.shape[1], rgb.shape[0]), bright=bright))


def _rows(holes) -> Found:
    return np.array([(hole.x, hole.y, hole.diameter_px / 2) for hole in holes]).reshape(-1, 3)


def _hough(mode: int, first: float, second: float) -> Way:
    def way(rgb: np.ndarray, band: tuple[float, float], bright: bool) -> Found:
        grey = cv2.medianBlur(cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY), 3)
        low, high = int(max(1, band[0])), int(np.ceil(band[1]))
        circles = cv2.HoughCircles(
            grey, mode, 1.5, max(4, low), param1=first, param2=second, minRadius=low, maxRadius=high
        )
        return np.empty((0, 3)) if circles is None else circles.reshape(-1, circles.shape[-1])[:, :3] + (0.5, 0.5, 0)

    return way


def blobs(rgb: np.ndarray, band: tuple[float, float], bright: bool) -> Found:
    grey = cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY) / 255.0
    found = blob_log(
        grey if bright else 1 - grey, band[0] / 2**0.5, band[1] / 2**0.5, num_sigma=10, threshold=0.1, overlap=0.3
    )
    return np.stack([found[:, 1] + 0.5, found[:, 0] + 0.5, found[:, 2] * 2**0.5], axis=1)


WAYS: tuple[tuple[str, Way], ...] = (
    ("size unknown", ours_size_unknown),
    ("size known to 20 %", ours),
    ("HoughCircles ALT, known", _hough(cv2.HOUGH_GRADIENT_ALT, 300, 0.8)),
    ("HoughCircles, known", _hough(cv2.HOUGH_GRADIENT, 100, 25)),
    ("blob_log, known", blobs),
)


def table(ground: str, bright: bool, count: int) -> None:
    print(f"\n{'bright discs' if bright else 'holes'} on {ground}, {count} photos a row, 10 in each")
    print(f"{'radius px':>12}  {'way':26}{'recall':>8}{'precision':>11}{'diameter error px':>28}{'s each':>8}")
    print(f"{'':48}{'':11}{'bias':>8}{'median':>10}{'p90':>10}")
    for radii in BANDS:
        photos = [hole_photo(ground, FIRST_SEED + i, radii, light=bright) for i in range(count)]
        for name, way in WAYS:
            if name.startswith("blob") and radii[1] > 12:
                continue
            true = right = found_count = 0
            errors: list[float] = []
            started = time.perf_counter()
            for photo in photos:
                found = way(photo.rgb, (0.8 * radii[0], 1.2 * radii[1]), bright)
                pairs = matched(found, photo.holes)
                true, right, found_count = true + len(photo.holes), right + len(pairs), found_count + len(found)
                errors += [2 * (found[i, 2] - photo.holes[j, 2]) for i, j in pairs]
            seconds = (time.perf_counter() - started) / count
            off = np.array(errors or [np.nan])
            print(
                f"{radii[0]:>6g}-{radii[1]:<5g}  {name:26}{right / true:8.2f}{right / max(1, found_count):11.2f}"
                f"{np.median(off):8.2f}{np.median(np.abs(off)):10.2f}{np.percentile(np.abs(off), 90):10.2f}"
                f"{seconds:8.2f}"
            )


def coin_table() -> None:
    rgb = np.repeat(data.coins()[..., None], 3, axis=2)
    truth = np.array(
        [
            (columns.mean() + 0.5, rows.mean() + 0.5, (len(rows) / np.pi) ** 0.5)
            for rows, columns in (np.nonzero(coin.mask) for coin in coins())
        ]
    )
    print("\nthe 24 coins of scikit-image (known: radius 15 to 35 px)")
    for name, way in WAYS:
        found = way(rgb, (15, 35), True)
        print(f"{name:26} found {len(matched(found, truth)):2d} of {len(truth)}, {len(found)} proposed")


def main(count: int = 4) -> None:
    warm_up()
    for bright in (False, True):
        for ground in ("wood", "rough"):
            table(ground, bright, count)
    coin_table()


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))

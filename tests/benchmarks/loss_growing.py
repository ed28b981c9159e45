"""How well losses are grown and loops snapped, beside OpenCV's flood fill and GrabCut, and the seconds of each.

``python -m tests.benchmarks.loss_growing [PHOTOS]``; the photos are those of tests/imaging/grow_set.py with seeds that
no threshold was chosen on, and the 24 coins of scikit-image.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable

import cv2
import numpy as np

from condition.errors import Refused
from condition.imaging.grow import GrownRegion, grow_from_point, grow_from_ring
from condition.records.shapes import Ring
from tests.imaging.grow_set import RegionPhoto, coins, overlap, painted, rough_loop, worn_finish

FIRST_SEED = 500

Loop = tuple[tuple[float, float], ...]
Way = Callable[[RegionPhoto, Loop], np.ndarray]


def _mask(photo: RegionPhoto, grown: GrownRegion) -> np.ndarray:
    return painted(photo.mask.shape, (grown.ring.points, *grown.ring.holes))


def click(photo: RegionPhoto, loop: Loop) -> np.ndarray:
    return _mask(photo, grow_from_point(photo.rgb, photo.deepest))


def snapped(photo: RegionPhoto, loop: Loop) -> np.ndarray:
    return _mask(photo, grow_from_ring(photo.rgb, Ring(loop)))


def drawn(photo: RegionPhoto, loop: Loop) -> np.ndarray:
    return painted(photo.mask.shape, (loop,))


def flood(photo: RegionPhoto, loop: Loop) -> np.ndarray:
    """cv2.floodFill from the click in Lab, 14 either way of the clicked colour."""
    lab = cv2.cvtColor(photo.rgb, cv2.COLOR_RGB2LAB)
    mask = np.zeros((lab.shape[0] + 2, lab.shape[1] + 2), np.uint8)
    x, y = (int(value) for value in photo.deepest)
    flags = 4 | cv2.FLOODFILL_FIXED_RANGE | cv2.FLOODFILL_MASK_ONLY | (1 << 8)
    cv2.floodFill(lab, mask, (x, y), 0, (14,) * 3, (14,) * 3, flags)
    return mask[1:-1, 1:-1].astype(bool)


def grabcut(photo: RegionPhoto, loop: Loop) -> np.ndarray:
    """cv2.grabCut on the whole photo: the loop probable foreground, all else background, five rounds."""
    labels = np.where(drawn(photo, loop), cv2.GC_PR_FGD, cv2.GC_BGD).astype(np.uint8)
    models = np.zeros((1, 65)), np.zeros((1, 65))
    cv2.setRNGSeed(1)
    cv2.grabCut(np.ascontiguousarray(photo.rgb[..., ::-1]), labels, None, *models, 5, cv2.GC_INIT_WITH_MASK)
    return np.isin(labels, (cv2.GC_FGD, cv2.GC_PR_FGD))


WAYS: tuple[tuple[str, Way], ...] = (
    ("one click", click),
    ("one click: floodFill", flood),
    ("loop snapped", snapped),
    ("loop: grabCut", grabcut),
    ("loop as drawn", drawn),
)


def table(kind: str, photos: list[RegionPhoto]) -> None:
    print(f"\n{kind}: {len(photos)} regions; intersection over union")
    print(f"{'':24}{'median':>8}{'mean':>8}{'p25':>8}{'least':>8}{'worse than drawn':>18}{'s each':>8}")
    loops = [rough_loop(photo, number) for number, photo in enumerate(photos)]
    before = [overlap(drawn(photo, loop), photo.mask) for photo, loop in zip(photos, loops, strict=True)]
    for name, way in WAYS:
        scores = []
        started = time.perf_counter()
        for photo, loop in zip(photos, loops, strict=True):
            try:
                scores.append(overlap(way(photo, loop), photo.mask))
            except Refused:
                scores.append(0.0)
        seconds = (time.perf_counter() - started) / len(photos)
        worse = sum(after < first for after, first in zip(scores, before, strict=True))
        print(
            f"{name:24}{np.median(scores):8.3f}{np.mean(scores):8.3f}{np.percentile(scores, 25):8.3f}"
            f"{min(scores):8.3f}{worse:18d}{seconds:8.2f}"
        )


def main(count: int = 24) -> None:
    table("worn finish", [worn_finish(FIRST_SEED + i) for i in range(count)])
    table("coins", coins())


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))

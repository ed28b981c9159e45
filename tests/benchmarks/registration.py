# ruff: noqa: E402
"""Corner error of the registration beside SIFT + RANSAC of scikit-image, on views with a known homography.

Run as ``python tests/benchmarks/registration.py [photos]``. Photographs from ``skimage.data``, seen anew from poses up
to 30 degrees of roll, 15 of tilt and 20 % of scale, exposure to 20 %, white balance, tone curve, blur, noise, JPEG 90
and mirrored lamps. Then one pair of 12 MP for time and memory.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parents[1]), str(Path(__file__).parents[2])]

import cv2
import numpy as np
import pairs

from condition.errors import Refused
from condition.flow.loose_photos import read_photo
from condition.imaging.overlay import through
from condition.imaging.register import register

PHOTOS = ("astronaut", "coffee", "chelsea", "rocket", "retina")
POSES = {
    "mild": (5, 4, 1.03, 0),
    "roll 30": (30, 4, 0.95, 0),
    "tilt 15": (-8, 15, 1.0, 0),
    "scale 0.8": (6, 6, 0.8, 0),
    "scale 1.2": (-4, 5, 1.2, 0),
    "hard": (22, 12, 0.88, 4),
}
PEER_SIDE_PX = 512
MEASURED = """
import resource, subprocess, sys, time
begun = time.time()
subprocess.run([sys.executable, "-m", "condition", "compare", *sys.argv[1:]], check=True)
used = resource.getrusage(resource.RUSAGE_CHILDREN)
spent = used.ru_utime + used.ru_stime
print(f"{time.time() - begun:.1f} s, {spent:.1f} s of processor, peak {used.ru_maxrss / 1024:.0f} MB")
"""
"""Started from a small process: a child's peak counts what its parent held when it was forked."""


def corner_error(found: np.ndarray, true: np.ndarray, width: int, height: int) -> float:
    corners = np.array([(0, 0), (width, 0), (width, height), (0, height)], float)
    return float(np.hypot(*(through(found, corners) - through(true, corners)).T).mean())


def by_peer(before: np.ndarray, after: np.ndarray) -> np.ndarray | None:
    """SIFT + RANSAC of scikit-image (ratio 0.8, 2 px, 2000 trials), before px to after px."""
    from skimage import measure, transform
    from skimage.feature import SIFT, match_descriptors

    scale = min(1.0, PEER_SIDE_PX / max(before.shape))
    found = []
    for picture in (before, after):
        grey = cv2.cvtColor(
            cv2.resize(picture, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA), cv2.COLOR_RGB2GRAY
        )
        finder = SIFT()
        finder.detect_and_extract(grey / 255.0)
        found.append((finder.keypoints[:, ::-1] + 0.5, finder.descriptors))
    pairs_of = match_descriptors(found[0][1], found[1][1], max_ratio=0.8, cross_check=True)
    one, two = found[0][0][pairs_of[:, 0]] / scale, found[1][0][pairs_of[:, 1]] / scale
    if len(one) < 8:
        return None
    model, _ = measure.ransac(
        (one, two), transform.ProjectiveTransform, min_samples=4, residual_threshold=2 / scale, max_trials=2000, rng=1
    )
    return None if model is None else model.params / model.params[2, 2]


def main() -> None:
    photos = PHOTOS[: int(sys.argv[1])] if len(sys.argv) > 1 else PHOTOS
    print(f"{'corner error px':<24}{'this':>8}{'residual':>10}{'overlap':>9}{'s':>6}{'skimage':>10}{'s':>6}")
    ours, theirs = [], []
    for photo in photos:
        before = pairs.photograph(photo)
        height, width = before.shape[:2]
        for name, (roll, tilt, scale, glare) in POSES.items():
            true = pairs.pose(width, height, roll, tilt, scale)
            after = pairs.taken_anew(before, true, seed=len(ours), exposure=0.2, glare=glare)
            begun = time.time()
            try:
                found = register(before, after)
                error, told = corner_error(found.homography, true, width, height), found
            except Refused as refusal:
                error, told = float("nan"), None
                print(f"{photo} {name}: refused, {refusal}")
            spent = time.time() - begun
            begun = time.time()
            peer = by_peer(before, after)
            peer_error = float("nan") if peer is None else corner_error(peer, true, width, height)
            ours.append(error)
            theirs.append(peer_error)
            if told:
                print(f"{photo + ', ' + name:<24}{error:>8.3f}{told.local_px:>10.3f}{told.overlap:>9.2f}{spent:>6.1f}"
                      f"{peer_error:>10.3f}{time.time() - begun:>6.1f}")  # fmt: skip
    print(
        f"median {np.nanmedian(ours):.3f}, worst {np.nanmax(ours):.3f}; "
        f"skimage {np.nanmedian(theirs):.3f}, {np.nanmax(theirs):.3f}"
    )


def twelve_megapixels() -> None:
    """The demonstration's intake photo of the front against itself from another pose: the command, on its own."""
    root = Path(__file__).parents[2]
    front = root / "demo_images" / "front.jpg"
    large = read_photo(str(front)).rgb
    height, width = large.shape[:2]
    with tempfile.TemporaryDirectory() as folder:
        after = Path(folder) / "after.png"
        cv2.imwrite(str(after), pairs.taken_anew(large, pairs.pose(width, height, 4, 4, 0.98), seed=1)[..., ::-1])
        told = subprocess.run(
            [sys.executable, "-c", MEASURED, str(front), str(after)],
            cwd=root,
            capture_output=True,
            text=True,
            check=True,
        ).stdout
    print(told.strip())


if __name__ == "__main__":
    twelve_megapixels() if sys.argv[1:] == ["12"] else main()

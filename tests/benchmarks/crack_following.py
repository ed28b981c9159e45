"""How well and how fast cracks are followed, beside the library's minimal path, live-wire scissors and a straight line.

``python -m tests.benchmarks.crack_following [PHOTOS_PER_GROUND]``; the photos are those of tests/imaging/crack_set.py,
with seeds that no threshold was chosen on. Cracks that are seen throughout stand apart from those that fade into the
ground for a stretch, where no truth can be asked for.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from contextlib import suppress

import cv2
import numpy as np
from skimage.graph import route_through_array

from condition.flow.assists import follow_crack, warm_up
from condition.imaging.lightness import lightness_of
from condition.imaging.polyline import smoothed
from condition.imaging.trace import NoPathError, trace, window_between
from tests.imaging.crack_set import GROUNDS, CrackPhoto, crack_photo, length_of, seen_throughout, share_within

FIRST_SEED = 300


def ours(photo: CrackPhoto) -> np.ndarray:
    return np.array(trace(photo.rgb, photo.ends).line.points)


def ours_tone_known(photo: CrackPhoto) -> np.ndarray:
    return np.array(trace(photo.rgb, photo.ends, "light" if photo.light else "dark").line.points)


def ours_clicked_off(photo: CrackPhoto) -> np.ndarray:
    rng = np.random.default_rng(len(photo.name))
    first, last = ((x + rng.normal() * 1.5, y + rng.normal() * 1.5) for x, y in photo.ends)
    return np.array(trace(photo.rgb, (first, last)).line.points)


def _cut_out(photo: CrackPhoto):
    x, y, wide, high = window_between(*photo.ends, photo.rgb.shape)
    (x0, y0), (x1, y1) = photo.ends
    ends = (int(y0 - y), int(x0 - x)), (int(y1 - y), int(x1 - x))
    return photo.rgb[y : y + high, x : x + wide], np.array([x, y]), ends


def library_path(photo: CrackPhoto) -> np.ndarray:
    """skimage.graph.route_through_array on lightness (the tone told), smoothed as ours is."""
    part, corner, ends = _cut_out(photo)
    lightness = lightness_of(part)
    route, _ = route_through_array((100 - lightness if photo.light else lightness) + 1, *ends)
    return smoothed(np.array(route)[:, ::-1] + 0.5 + corner, 3.0)


def scissors(photo: CrackPhoto) -> np.ndarray:
    """cv2.segmentation.IntelligentScissorsMB with Canny features."""
    part, corner, ((row0, column0), (row1, column1)) = _cut_out(photo)
    tool = cv2.segmentation.IntelligentScissorsMB()
    tool.setEdgeFeatureCannyParameters(32, 100)
    tool.setGradientMagnitudeMaxLimit(200)
    tool.applyImage(np.ascontiguousarray(part[..., ::-1]))
    tool.buildMap((column0, row0))
    contour = tool.getContour((column1, row1)).reshape(-1, 2).astype(float)
    return smoothed(contour + 0.5 + corner, 3.0)


def straight(photo: CrackPhoto) -> np.ndarray:
    return np.array(photo.ends)


WAYS: tuple[tuple[str, Callable[[CrackPhoto], np.ndarray]], ...] = (
    ("trace", ours),
    ("trace, tone told", ours_tone_known),
    ("trace, clicks 1.5 px off", ours_clicked_off),
    ("route_through_array", library_path),
    ("scissors", scissors),
    ("straight line", straight),
)


def table(kind: str, photos: list[CrackPhoto]) -> None:
    print(f"\n{kind}: {len(photos)} cracks")
    print(f"{'':26}{'within 2 px':>16}{'within 5 px':>16}{'length error %':>18}{'refused':>9}{'s each':>8}")
    print(f"{'':26}{'median':>8}{'p10':>8}{'median':>8}{'p10':>8}{'median':>9}{'p90':>9}")
    for name, way in WAYS:
        rows, refused = [], 0
        started = time.perf_counter()
        for photo in photos:
            try:
                path = way(photo)
            except NoPathError:
                refused += 1
                path = straight(photo)
            error = 100 * abs(length_of(path) / length_of(photo.centreline) - 1)
            rows.append((share_within(path, photo.centreline, 2), share_within(path, photo.centreline, 5), error))
        seconds = (time.perf_counter() - started) / len(photos)
        near, close, error = np.array(rows).T
        print(
            f"{name:26}{np.median(near):8.3f}{np.percentile(near, 10):8.3f}{np.median(close):8.3f}"
            f"{np.percentile(close, 10):8.3f}{np.median(error):9.2f}{np.percentile(error, 90):9.2f}"
            f"{refused:9d}{seconds:8.3f}"
        )


def preview_latency(megapixels: int, count: int = 50) -> None:
    """Time of each answer while the pointer moves along a crack in a photo of so many megapixels, decoded already."""
    photo = crack_photo("grain", FIRST_SEED)
    side = int((megapixels * 1e6) ** 0.5)
    times = -(-side // photo.rgb.shape[0])
    rgb = np.tile(photo.rgb, (times, times, 1))[:side, :side].copy()
    corner = photo.rgb.shape[0] * (times // 2)
    near = photo.centreline[:: max(1, len(photo.centreline) // count)] + corner
    far = near[0] + np.linspace(0.05, 1, count)[:, None] * np.array([0.3 * side, 0.2 * side])
    for name, places in (("along the crack", near[1:]), ("across the photo", far)):
        times_ms = []
        for x, y in places:
            started = time.perf_counter()
            with suppress(NoPathError):
                follow_crack(rgb, (tuple(near[0]), (float(x), float(y))), key=f"{megapixels} {name}")
            times_ms.append(1000 * (time.perf_counter() - started))
        print(
            f"preview at {megapixels} MP {name}: first {times_ms[0]:.0f} ms, median {np.median(times_ms):.0f} ms, "
            f"95th percentile {np.percentile(times_ms, 95):.0f} ms over {len(times_ms)}"
        )


KINDS: tuple[tuple[str, dict[str, bool]], ...] = (
    ("dark", {}),
    ("dark, branching", {"branched": True}),
    ("light", {"light": True}),
    ("light, branching", {"light": True, "branched": True}),
)


def main(per_ground: int = 30) -> None:
    warm_up()
    seeds = range(FIRST_SEED, FIRST_SEED + per_ground)
    faded: list[CrackPhoto] = []
    for kind, options in KINDS:
        photos = [crack_photo(name, seed, **options) for name in GROUNDS for seed in seeds]
        seen = [photo for photo in photos if seen_throughout(photo)]
        faded += [photo for photo in photos if photo not in seen]
        table(f"{kind}, seen throughout", seen)
    table("all kinds, faded into the ground for 40 px or more", faded)
    for megapixels in (12, 50):
        preview_latency(megapixels)


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))

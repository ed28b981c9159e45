"""Start a registration from the size cards: they say how each photo is tilted, so that only a turn, a shift and a
scale are left between two photos of surfaces parallel to them, wherever the cards lay."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np

from condition.errors import Refused
from condition.imaging.matching import FEWEST_SEEDS, GROUPS, Features, Group, is_sane, matched, nearby
from condition.imaging.plane import mm_per_px_at, to_mm, to_px
from condition.imaging.plane_from_cards import plane_from_cards
from condition.records.plane import PhotoPlane, SizeCard

SEED_PX = 12.0
ROUNDS = ((20.0, 5.0), (10.0, 3.0))
"""As in :mod:`condition.imaging.matching`; what stands a little proud still belongs to the face."""
FEWEST_INLIERS = 40
MESH = 7


def card_groups(
    one: Features,
    other: Features,
    before_cards: Sequence[SizeCard],
    after_cards: Sequence[SizeCard],
    size: tuple[int, int],
    after_size: tuple[int, int],
) -> list[Group]:
    """Groups of matches on planes parallel to the cards of both photos; none where a photo's cards give no plane.

    size, after_size : (width, height) of the photos
    """
    try:
        here, there = plane_from_cards(before_cards, *size, None), plane_from_cards(after_cards, *after_size, None)
    except Refused:
        return []
    middle = np.array([[after_size[0] / 2, after_size[1] / 2]])
    mm = float(mm_per_px_at(middle, there)[0]) / other.factor
    before, after = matched(one, other)
    groups: list[Group] = []
    for _ in range(GROUPS):
        seed = _similarity(before, after, here, there, SEED_PX * mm)
        if seed is None:
            break
        found, kept = seed
        group = _followed(found, one, other, here, there, mm)
        if group is not None and is_sane(group.homography, *size, one.factor / other.factor):
            groups.append(group)
        before, after = before[~kept], after[~kept]
    return groups


def _followed(
    similarity: np.ndarray, one: Features, other: Features, here: PhotoPlane, there: PhotoPlane, mm: float
) -> Group | None:
    group = None
    for reach, close in ROUNDS:
        homography = _homography(similarity, here, there)
        before, after = nearby(homography, one, other, reach / other.factor)
        fit = _similarity(before, after, here, there, close * mm)
        if fit is None or fit[1].sum() < FEWEST_INLIERS:
            return None
        similarity, kept = fit
        group = Group(_homography(similarity, here, there), before[kept], after[kept])
    return group


def _similarity(
    before: np.ndarray, after: np.ndarray, here: PhotoPlane, there: PhotoPlane, reach_mm: float
) -> tuple[np.ndarray, np.ndarray] | None:
    """Turn, shift and scale in mm, (2, 3), that most matches agree on, and which do."""
    if len(before) < FEWEST_SEEDS:
        return None
    cv2.setRNGSeed(1)
    found, kept = cv2.estimateAffinePartial2D(
        to_mm(before, here),
        to_mm(after, there),
        method=cv2.RANSAC,
        ransacReprojThreshold=reach_mm,
        maxIters=5000,
        confidence=0.999,
    )
    if found is None or kept.sum() < FEWEST_SEEDS:
        return None
    return found, kept.ravel() > 0


def _homography(similarity: np.ndarray, here: PhotoPlane, there: PhotoPlane) -> np.ndarray:
    """The same as a homography (3, 3), intake to return pixels; a lens's distortion is evened out over the picture."""
    steps = np.linspace(0.1, 0.9, MESH)
    mesh = np.stack(np.meshgrid(steps * here.width, steps * here.height), -1).reshape(-1, 2)
    there_px = to_px(to_mm(mesh, here) @ similarity[:, :2].T + similarity[:, 2], there)
    found, _ = cv2.findHomography(mesh, there_px)
    return found / found[2, 2]

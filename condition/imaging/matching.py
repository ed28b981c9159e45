"""Features of two photos that belong together, as groups that each lie in one plane.

Sources: Lowe, IJCV 60(2), 2004 (SIFT, ratio test); Arandjelovic and Zisserman, CVPR 2012 (square roots of the
histogram's shares); Barath et al., CVPR 2020 (MAGSAC++); contrast evened out tile by tile (Zuiderveld, Graphics Gems
IV, 1994), for surfaces that are lit anew.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from scipy.spatial import cKDTree

from condition.imaging.overlay import through

WORKING_SIDE_PX = 1600
FEATURES = 4000
CONTRAST = 0.02
EVENED, EVENED_TILES = 3.0, (16, 16)
RATIO = 0.8
SEED_PX = 20.0
"""How far a turn, a shift and a scale may be from the true view: 15 degrees of tilt bend a picture by about that."""
ROUNDS = ((40.0, 6.0), (15.0, 2.5), (8.0, 1.5))
"""How near its place a feature is looked for, and how well a homography carries it, round by round."""
NEARBY_RATIO, LIKELY = 0.72, 0.5
"""Squared distance of the best to the next best near its place, and over a mark's squared length: both below."""
FEWEST_SEEDS = 12
FEWEST_INLIERS = 25
"""Real pairs with fewer ended several pixels off (measured on published homographies)."""
GROUPS = 3
"""The instrument's face, the bench under it, and what else is flat in the picture."""
MARK_LENGTH = 512.0


@dataclass(frozen=True, slots=True, eq=False)
class Features:
    """places : (N, 2) upright pixels of the full photo; marks : (N, 128) float32; factor : working over full size"""

    places: np.ndarray
    marks: np.ndarray | None
    factor: float


@dataclass(frozen=True, slots=True, eq=False)
class Group:
    """Matches that one homography carries.

    homography : (3, 3), intake to return pixels; before, after : (N, 2) the places it was found from
    """

    homography: np.ndarray
    before: np.ndarray
    after: np.ndarray


def reduced(picture: np.ndarray, side_px: int = WORKING_SIDE_PX) -> tuple[np.ndarray, float]:
    """A picture at no more than ``side_px`` on its longer side, and the factor it was reduced by."""
    factor = min(1.0, side_px / max(picture.shape[:2]))
    if factor == 1.0:
        return picture, 1.0
    return cv2.resize(picture, None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA), factor


def features_of(rgb: np.ndarray, kept_out: np.ndarray | None = None, side_px: int = WORKING_SIDE_PX) -> Features:
    """Find the features of an upright photo, uint8 (H, W, 3); ``kept_out`` is bool (H, W), True where none may lie."""
    small, factor = reduced(rgb, side_px)
    grey = cv2.cvtColor(small, cv2.COLOR_RGB2GRAY)
    grey = cv2.createCLAHE(EVENED, EVENED_TILES).apply(grey)
    allowed = None
    if kept_out is not None:
        shrunk = cv2.resize(kept_out.astype(np.uint8), grey.shape[::-1], interpolation=cv2.INTER_NEAREST)
        allowed = (shrunk == 0).astype(np.uint8) * 255
    found, marks = cv2.SIFT_create(nfeatures=FEATURES, contrastThreshold=CONTRAST).detectAndCompute(grey, allowed)
    places = (np.array([point.pt for point in found], float).reshape(-1, 2) + 0.5) / factor
    if marks is not None:
        marks = MARK_LENGTH * np.sqrt(marks / np.maximum(marks.sum(1, keepdims=True), 1e-6))
    return Features(places, marks, factor)


def matched(one: Features, other: Features) -> tuple[np.ndarray, np.ndarray]:
    """Places (N, 2) and (N, 2) of features that are each other's by the ratio test."""
    if one.marks is None or other.marks is None or len(one.places) < 4 or len(other.places) < 4:
        return np.empty((0, 2)), np.empty((0, 2))
    pairs = cv2.BFMatcher(cv2.NORM_L2).knnMatch(one.marks, other.marks, k=2)
    kept = [(pair[0].queryIdx, pair[0].trainIdx, pair[0].distance) for pair in pairs
            if len(pair) == 2 and pair[0].distance < RATIO * pair[1].distance]  # fmt: skip
    best: dict[int, tuple[int, int, float]] = {}
    for match in kept:
        if match[1] not in best or match[2] < best[match[1]][2]:
            best[match[1]] = match
    picked = sorted(best.values())
    return one.places[[m[0] for m in picked]].reshape(-1, 2), other.places[[m[1] for m in picked]].reshape(-1, 2)


def fitted_homography(before: np.ndarray, after: np.ndarray, reach_px: float) -> tuple[np.ndarray, np.ndarray] | None:
    """Robust homography of matches (N, 2), (N, 2) and which of them it carries, or None."""
    if len(before) < 4:
        return None
    cv2.setRNGSeed(1)
    try:
        found, kept = cv2.findHomography(before, after, cv2.USAC_MAGSAC, reach_px, maxIters=5000, confidence=0.9995)
    except cv2.error:
        return None
    if found is None or kept is None or not np.isfinite(found).all():
        return None
    return found / found[2, 2], kept.ravel().astype(bool)


def is_sane(homography: np.ndarray, width: int, height: int, size: float = 1.0) -> bool:
    """Whether a camera could have moved like that: neither mirrored nor past the horizon, scale 1/3 to 3.

    size : how many times larger the return photo is than the intake photo, which takes no moving
    """
    corners = np.array([(0, 0), (width, 0), (width, height), (0, height)], float)
    depth = corners @ homography[2, :2] + homography[2, 2]
    if (depth <= 0.1 * depth.max()).any():
        return False
    seen = through(homography, corners)
    after = np.roll(seen, -1, 0) - seen
    turn = after[:, 0] * np.roll(after, -1, 0)[:, 1] - after[:, 1] * np.roll(after, -1, 0)[:, 0]
    x, y = seen.T
    area = abs(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2
    return bool((turn > 0).all() and 1 / 9 < area / (width * height * size**2) < 9)


def groups_of(one: Features, other: Features, width: int, height: int) -> list[Group]:
    """Groups of matches, each of one plane; ``width`` and ``height`` are the intake photo's.

    Few features look alike in other light, so the first that agree on a turn, a shift and a scale only say where each
    feature is to be looked for; there the nearest in kind is taken.
    """
    groups: list[Group] = []
    for seed in _seeds(*matched(one, other), SEED_PX / other.factor):
        group = _followed(seed, one, other)
        if group is not None and is_sane(group.homography, width, height, one.factor / other.factor):
            groups.append(group)
    return groups


def _seeds(before: np.ndarray, after: np.ndarray, reach_px: float) -> list[np.ndarray]:
    """Homographies (3, 3) of a turn, a shift and a scale that many matches agree on."""
    seeds = []
    for _ in range(GROUPS):
        if len(before) < FEWEST_SEEDS:
            break
        cv2.setRNGSeed(1)
        found, kept = cv2.estimateAffinePartial2D(
            before, after, method=cv2.RANSAC, ransacReprojThreshold=reach_px, maxIters=5000, confidence=0.999
        )
        if found is None or kept.sum() < FEWEST_SEEDS:
            break
        seeds.append(np.vstack([found, [0, 0, 1]]))
        rest = kept.ravel() == 0
        before, after = before[rest], after[rest]
    return seeds


def _followed(homography: np.ndarray, one: Features, other: Features) -> Group | None:
    """The plane that a first guess leads to."""
    group = None
    for reach, close in ROUNDS:
        before, after = nearby(homography, one, other, reach / other.factor)
        fit = fitted_homography(before, after, close / other.factor)
        if fit is None or fit[1].sum() < FEWEST_INLIERS:
            return None
        homography, kept = fit
        group = Group(homography, before[kept], after[kept])
    return group


def nearby(homography: np.ndarray, one: Features, other: Features, reach_px: float) -> tuple[np.ndarray, np.ndarray]:
    """Places (N, 2) and (N, 2) of features that are each other's among those near where they should be."""
    tree = cKDTree(other.places)
    near = tree.query_ball_point(through(homography, one.places), reach_px)
    best: dict[int, tuple[float, int]] = {}
    same_px = 3 / other.factor
    for index, candidates in enumerate(near):
        if not candidates:
            continue
        away = ((other.marks[candidates] - one.marks[index]) ** 2).sum(1)
        first = int(away.argmin())
        place = other.places[candidates]
        elsewhere = np.hypot(*(place - place[first]).T) > same_px
        next_best = away[elsewhere].min() if elsewhere.any() else np.inf
        least, chosen = float(away[first]), candidates[first]
        if least < min(LIKELY * MARK_LENGTH**2, NEARBY_RATIO * next_best) and least < best.get(chosen, (np.inf, 0))[0]:
            best[chosen] = (least, index)
    from_one = [index for _, index in best.values()]
    return one.places[from_one].reshape(-1, 2), other.places[list(best)].reshape(-1, 2)

"""Lay a return photo over its intake photo: features, then patches at full size, then a smooth rest.

Sources: as :mod:`condition.imaging.matching`; patches by normalised correlation with a parabola's peak; the rest by
iteratively reweighted least squares with Tukey's weights (Huber, Robust Statistics, 1981).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np

from condition.errors import Refused
from condition.imaging.card_cover import covered_by
from condition.imaging.card_planes import card_groups
from condition.imaging.matching import (
    FEWEST_INLIERS,
    WORKING_SIDE_PX,
    Features,
    Group,
    features_of,
    fitted_homography,
    groups_of,
    reduced,
)
from condition.imaging.overlay import Overlay, laid_over, through
from condition.imaging.overlay_fit import fitted_overlay
from condition.imaging.patches import NO_PATCHES, Patches, displaced
from condition.records.plane import SizeCard
from condition.records.shapes import Ring

FIRST_REACH_PX, SECOND_REACH_PX = 12, 5
REFIT_FACTORS = (1.0, 0.5, 0.25)
"""Shares of the full size that patches are looked for at, until enough are found: a soft photo has nothing fine."""
FEWEST_PATCHES = 25
FEWEST_FOR_FIELD = 60
FIELD_GAIN = 0.85
"""A smooth rest is kept when it lowers the patches' residual at least to this share."""
LEAST_OVERLAP = 0.55
CLOSE_PX = 0.5
FURTHEST_SPREADS = 3.5
"""A patch farther from the fit than both, in px and in standard deviations, does not lie in the plane."""
BLUR_RATIO = 0.16
DARK_LEVEL = 24
"""A photo whose brightest hundredth stays below shows nothing."""
BLUR_SIDE_PX = 800


@dataclass(frozen=True, slots=True, eq=False)
class Registration:
    """How the return photo lies over the intake photo.

    overlay : the map from intake to return pixels, with its smooth rest
    residual_px : rms of what patches of the same plane still lie beside the homography, in intake pixels
    local_px : the same beside homography and smooth rest
    overlap : share of the intake photo that the return photo shows
    steady, moved : patches that lie in the plane, and those that do not (raised, sunken, or moved)
    """

    overlay: Overlay
    residual_px: float
    local_px: float
    overlap: float
    steady: Patches
    moved: Patches

    @property
    def homography(self) -> np.ndarray:
        return self.overlay.homography


def register(
    before: np.ndarray,
    after: np.ndarray,
    before_cards: Sequence[SizeCard] = (),
    after_cards: Sequence[SizeCard] = (),
    outline_px: Ring | None = None,
) -> Registration:
    """Register two upright sRGB photos, uint8 (H, W, 3), of one face of one instrument.

    Parameters
    ----------
    before_cards, after_cards : the size cards of each; they and their margins take no part
    outline_px : the instrument's outline in the intake photo, where it is known

    Raises
    ------
    Refused
        ``compare.dark``, ``compare.blurred``, ``compare.mirrored``, ``compare.unrelated``,
        ``compare.out_of_frame``: with ``which`` (``intake`` or ``return``) or ``percent`` where it says.
    """
    _check_light(before, "intake")
    _check_light(after, "return")
    height, width = before.shape[:2]
    cards_before, cards_after = covered_by(before_cards, height, width), covered_by(after_cards, *after.shape[:2])
    kept_out = cards_before if outline_px is None else cards_before | ~inside(outline_px, height, width)
    side_px = min(WORKING_SIDE_PX, max(before.shape[:2]), max(after.shape[:2]))
    one, other = features_of(before, kept_out, side_px), features_of(after, cards_after, side_px)
    groups = card_groups(one, other, before_cards, after_cards, (width, height), after.shape[1::-1])
    group = _chosen(groups or groups_of(one, other, width, height), width, height, outline_px)
    if group is None:
        raise _why_not(before, after, one, side_px)
    grey_before = cv2.cvtColor(before, cv2.COLOR_RGB2GRAY)
    grey_after = cv2.cvtColor(after, cv2.COLOR_RGB2GRAY)
    grey_after[cards_after] = 0
    overlay = Overlay(group.homography, width, height)
    _, seen = laid_over(grey_after, overlay)
    overlap = float(seen[::4, ::4].mean())
    if overlap < LEAST_OVERLAP:
        raise Refused("compare.out_of_frame", percent=round(100 * overlap))
    for factor in REFIT_FACTORS:
        registration = _refined(overlay, grey_before, grey_after, kept_out, factor * min(1.0, overlay.scale()))
        if registration is not None:
            return registration
    if groups:
        return _unrefined(overlay, group, overlap)
    raise _why_not(before, after, one, side_px)


def _unrefined(overlay: Overlay, group: Group, overlap: float) -> Registration:
    """As far as cards and features go, where too little is flat for patches: a rib, a neck."""
    away = (overlay.to_before(group.after) - group.before).ravel()
    spread = 1.4826 * float(np.median(np.abs(away))) * np.sqrt(2)
    return Registration(overlay, spread, spread, overlap, NO_PATCHES, NO_PATCHES)


def _refined(
    overlay: Overlay, before: np.ndarray, after: np.ndarray, kept_out: np.ndarray, factor: float
) -> Registration | None:
    """Fit an overlay to patches of the grey photos at this share of their size; ``after`` is 0 on cards."""
    one, other, out = before, after, kept_out
    if factor < 1:
        one, other = (cv2.resize(p, None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA) for p in (before, after))
        out = cv2.resize(kept_out.astype(np.uint8), one.shape[::-1], interpolation=cv2.INTER_NEAREST) > 0
    registration = None
    for reach in (FIRST_REACH_PX, SECOND_REACH_PX):
        laid, seen = laid_over(other, overlay.at(factor, factor))
        found = displaced(one, laid, seen & ~out & (laid > 0), reach)
        found = replace(found, places=found.places / factor, shifts=found.shifts / factor)
        registration = _refitted(overlay, found, float(seen[::4, ::4].mean()), factor)
        if registration is None:
            return None
        overlay = registration.overlay
    return registration


def inside(ring: Ring, height: int, width: int) -> np.ndarray:
    """bool (height, width), True inside a ring in upright pixels."""
    mask = np.zeros((height, width), np.uint8)
    loops = [np.round((np.array(loop) - 0.5) * 16).astype(np.int32) for loop in (ring.points, *ring.holes)]
    cv2.fillPoly(mask, loops, 1, shift=4)
    return mask.astype(bool)


def _check_light(rgb: np.ndarray, which: str) -> None:
    if np.percentile(rgb[::8, ::8].max(2), 99) < DARK_LEVEL:
        raise Refused("compare.dark", which=which)


def _chosen(groups: list[Group], width: int, height: int, outline_px: Ring | None) -> Group | None:
    """The group in the middle of the picture (or of the outline): the largest may be the bench."""
    if outline_px is None:
        middle, reach = np.array([width / 2, height / 2]), 0.22 * np.hypot(width, height)
    else:
        points = np.array(outline_px.points)
        middle, reach = points.mean(0), 0.35 * np.hypot(*np.ptp(points, axis=0))
    enough = [group for group in groups if len(group.before) >= FEWEST_INLIERS]
    weights = [np.exp(-0.5 * ((group.before - middle) ** 2).sum(1) / reach**2).sum() for group in enough]
    return enough[int(np.argmax(weights))] if enough else None


def _refitted(overlay: Overlay, patches: Patches, overlap: float, factor: float) -> Registration | None:
    """Fit homography and smooth rest anew to where the patches were found; None when too few agree."""
    places, scale = patches.places, overlay.scale()
    targets = overlay.to_after(places + patches.shifts) if len(places) else places
    fit = fitted_homography(places, targets, 2.0 * scale / factor)
    if fit is None or fit[1].sum() < FEWEST_PATCHES:
        return None
    start = replace(overlay, homography=fit[0], field=None)
    best, close = _settled(start, patches, targets, fit[1], False)
    bent, close_bent = _settled(start, patches, targets, fit[1], True)
    if close_bent.sum() >= FEWEST_FOR_FIELD and close_bent.sum() >= 0.9 * close.sum():
        halves = [_halves(start, patches.only(close_bent), targets[close_bent], smooth) for smooth in (False, True)]
        if halves[1] < FIELD_GAIN * halves[0]:
            best, close = bent, close_bent
    if close.sum() < FEWEST_PATCHES:
        return None
    flat = patches.across((targets - through(best.homography, places)) / scale)
    shifts = (targets - best.to_after(places)) / scale
    found = replace(patches, shifts=shifts)
    return Registration(
        best, _rms(flat[close]), _rms(found.across()[close]), overlap, found.only(close), found.only(~close)
    )


def _rms(values: np.ndarray) -> float:
    return float(np.sqrt((values**2).mean()))


def _settled(
    overlay: Overlay, patches: Patches, targets: np.ndarray, kept: np.ndarray, smooth: bool
) -> tuple[Overlay, np.ndarray]:
    """Least squares on the patches that agree, chosen again until they stay the same."""
    scale = overlay.scale()
    for _ in range(12):
        overlay = fitted_overlay(overlay, patches.only(kept), targets[kept], smooth)
        away = patches.across((targets - overlay.to_after(patches.places)) / scale)
        close = away < max(FURTHEST_SPREADS * 1.4826 * float(np.median(away[kept])), CLOSE_PX)
        if close.sum() < FEWEST_PATCHES or (close == kept).all():
            break
        kept = close
    return overlay, kept


def _halves(overlay: Overlay, patches: Patches, targets: np.ndarray, smooth: bool) -> float:
    """Median distance of each half of the patches from the fit to the other half."""
    odd = np.arange(len(targets)) % 2 == 1
    away = []
    for other in (odd, ~odd):
        fit = fitted_overlay(overlay, patches.only(~other), targets[~other], smooth)
        away.append(patches.only(other).across(targets[other] - fit.to_after(patches.places[other])))
    return float(np.median(np.concatenate(away)))


def _why_not(before: np.ndarray, after: np.ndarray, one: Features, side_px: int) -> Refused:
    """The likeliest reason why two photos do not go together."""
    mirrored = features_of(np.ascontiguousarray(after[:, ::-1]), None, side_px)
    height, width = before.shape[:2]
    if _chosen(groups_of(one, mirrored, width, height), width, height, None) is not None:
        return Refused("compare.mirrored")
    for rgb, which in ((after, "return"), (before, "intake")):
        if _is_blurred(rgb):
            return Refused("compare.blurred", which=which)
    return Refused("compare.unrelated")


def _is_blurred(rgb: np.ndarray) -> bool:
    """Whether nothing finer than about six pixels is left at 800 px: fine over coarse contrast of its edges."""
    grey = cv2.cvtColor(reduced(rgb, BLUR_SIDE_PX)[0], cv2.COLOR_RGB2GRAY).astype(np.float32)
    fine = grey - cv2.GaussianBlur(grey, (0, 0), 1.0)
    coarse = cv2.GaussianBlur(grey, (0, 0), 1.0) - cv2.GaussianBlur(grey, (0, 0), 4.0)
    edges = np.abs(coarse) >= np.percentile(np.abs(coarse), 98)
    return bool(np.abs(fine[edges]).mean() < BLUR_RATIO * np.abs(coarse[edges]).mean())

"""Find where a photo lies on the base photo of its face, from the two pictures and, where known, their planes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from condition.errors import Refused
from condition.imaging.card_cover import covered_by
from condition.imaging.edge_placing import placed_by_edges
from condition.imaging.matching import features_of, matched
from condition.imaging.overlay import Overlay, through
from condition.imaging.plane import mm_per_px_at, to_mm, to_px
from condition.imaging.register import register
from condition.imaging.rigid import fitted_motion, robust_motion
from condition.records.placing import Placing
from condition.records.plane import PhotoPlane, SizeCard
from condition.records.shapes import Ring

METHOD = "2"
"""Part of the cache's key: a new one finds every placing again."""

FEWEST_FEATURES = 12
"""Joined in the planes' millimetres, where two pairs fix everything: ten more by chance within reach do not happen
(measured on photos of different faces: at most 6 of 300)."""
REACH_PX = 4.0
LEAST_REACH_MM = 0.6
WIDEST_MM = 3.0
"""A residual above this is no placing."""
SPREAD_SHARE = 0.04
"""Least area that the supports span, over the photo's."""
SCALE_SLACK = 0.02


def place(
    photo: np.ndarray,
    base: np.ndarray,
    photo_cards: Sequence[SizeCard] = (),
    base_cards: Sequence[SizeCard] = (),
    photo_plane: PhotoPlane | None = None,
    base_plane: PhotoPlane | None = None,
    outline_px: Ring | None = None,
    same_light: bool = True,
) -> Placing:
    """Place one upright photo, uint8 sRGB (H, W, 3), on another of the same face.

    Patches of the picture come first; where they do not carry, features joined with the scale known from both planes;
    last, edges, which stay where they are when the light is another.

    Parameters
    ----------
    outline_px : the face's outline in the base photo
    same_light : False when one was taken in raking, ultraviolet or transmitted light

    Returns
    -------
    The placing; ``refusal`` says why it is not to be trusted: ``face.unsure``, ``face.scales_differ``, or
    ``face.edges_only`` where in one light nothing but edges agree, as they do on two faces of one outline.
    """
    planes = (photo_plane, base_plane) if photo_plane and base_plane else None
    found = _by_picture(photo, base, photo_cards, base_cards, photo_plane, base_plane)
    if found is None and planes:
        found = _by_planes(photo, base, photo_cards, base_cards, *planes)
    if found is None and (planes or (not same_light and photo.shape == base.shape)):
        found = placed_by_edges(photo, base, photo_cards, base_cards, planes, outline_px)
        if found:
            sizes = ((photo.shape[1], photo.shape[0]), (base.shape[1], base.shape[0]))
            found = with_seen(found, *(planes or (None, None)), *sizes)
            found = replace(found, refusal=found.refusal or ("face.edges_only" if same_light else ""))
    return found or Placing("picture", refusal="face.unsure")


def base_px_of(placing: Placing, points_px: np.ndarray, photo_plane: PhotoPlane | None, base_plane: PhotoPlane | None,
               photo_size: tuple[int, int]) -> np.ndarray:  # fmt: skip
    """Return where upright pixels (N, 2) of the photo lie in the base photo, (N, 2); ``photo_size``: width, height."""
    if placing.in_mm:
        return to_px(base_mm_of(placing, points_px, photo_plane, base_plane, photo_size), base_plane)
    return overlay_of(placing, photo_size).to_after(np.asarray(points_px, float))


def base_mm_of(placing: Placing, points_px: np.ndarray, photo_plane: PhotoPlane | None, base_plane: PhotoPlane,
               photo_size: tuple[int, int]) -> np.ndarray:  # fmt: skip
    """Return where upright pixels (N, 2) of the photo lie in the base photo's plane, (N, 2) mm."""
    if not placing.in_mm:
        return to_mm(base_px_of(placing, points_px, photo_plane, base_plane, photo_size), base_plane)
    return through(_matrix(placing), to_mm(np.asarray(points_px, float), photo_plane))


def photo_px_of(placing: Placing, points_px: np.ndarray, photo_plane: PhotoPlane | None, base_plane: PhotoPlane | None,
                photo_size: tuple[int, int]) -> np.ndarray:  # fmt: skip
    """Return where upright pixels (N, 2) of the base photo lie in the photo, (N, 2)."""
    points = np.asarray(points_px, float)
    if not placing.in_mm:
        return overlay_of(placing, photo_size).to_before(points)
    return to_px(through(np.linalg.inv(_matrix(placing)), to_mm(points, base_plane)), photo_plane)


def overlay_of(placing: Placing, photo_size: tuple[int, int]) -> Overlay:
    """Return a placing that was found in pixels as an overlay from the photo to the base photo."""
    bend = np.array(placing.bend).reshape(-1, 2) if placing.bend else None
    return Overlay(_matrix(placing), *photo_size, bend)


def _matrix(placing: Placing) -> np.ndarray:
    return np.array(placing.matrix).reshape(3, 3)


def _by_picture(photo, base, photo_cards, base_cards, photo_plane, base_plane) -> Placing | None:
    try:
        found = register(photo, base, photo_cards, base_cards)
    except Refused:
        return None
    height, width = photo.shape[:2]
    middle = np.array([[width / 2, height / 2]])
    there = found.overlay.to_after(middle)
    base_mm = float(mm_per_px_at(there, base_plane)[0]) * float(found.overlay.scale()) if base_plane else None
    own_mm = float(mm_per_px_at(middle, photo_plane)[0]) if photo_plane else None
    per_px = base_mm or own_mm
    ratio = own_mm / base_mm if own_mm and base_mm else None
    bend = found.overlay.field
    residual = float(found.local_px) * per_px if per_px else None
    return Placing(
        "picture",
        tuple(float(v) for v in found.homography.ravel()),
        bend=tuple(float(v) for v in bend.ravel()) if bend is not None else (),
        residual_mm=residual,
        supports=len(found.steady.places),
        seen=float(found.overlap),
        scale_ratio=ratio,
        refusal=_doubt(found.steady.places, (width, height), residual, ratio, photo_plane, base_plane),
    )


def _by_planes(photo, base, photo_cards, base_cards, photo_plane, base_plane) -> Placing | None:
    one = features_of(photo, covered_by(photo_cards, *photo.shape[:2]))
    other = features_of(base, covered_by(base_cards, *base.shape[:2]))
    before_px, after_px = matched(one, other)
    before, after = to_mm(before_px, photo_plane), to_mm(after_px, base_plane)
    real = np.isfinite(before).all(1) & np.isfinite(after).all(1)
    before, after, before_px = before[real], after[real], before_px[real]
    reach = max(LEAST_REACH_MM, REACH_PX * photo_plane.mm_per_px, REACH_PX * base_plane.mm_per_px)
    fit = robust_motion(before, after, reach, SCALE_SLACK)
    if fit is None or fit[1].sum() < FEWEST_FEATURES:
        return None
    matrix, kept = fit
    away = np.hypot(*(before @ matrix[:2, :2].T + matrix[:2, 2] - after).T)
    residual = float(np.sqrt((away[kept] ** 2).mean()))
    size = (photo.shape[1], photo.shape[0])
    free = fitted_motion(before[kept], after[kept], scale=None)
    ratio = 1 / float(np.hypot(*free[:2, 0]))
    placing = Placing("planes", tuple(float(v) for v in matrix.ravel()), True, residual_mm=residual,
                      supports=int(kept.sum()), scale_ratio=ratio,
                      refusal=_doubt(before_px[kept], size, residual, ratio, photo_plane, base_plane))  # fmt: skip
    return with_seen(placing, photo_plane, base_plane, size, (base.shape[1], base.shape[0]))


def with_seen(
    placing: Placing,
    photo_plane: PhotoPlane | None,
    base_plane: PhotoPlane | None,
    photo_size: tuple[int, int],
    base_size: tuple[int, int],
) -> Placing:
    """Return the placing with the share of the photo that lies on the base photo."""
    x, y = np.meshgrid(np.linspace(0, photo_size[0], 40), np.linspace(0, photo_size[1], 40))
    there = base_px_of(placing, np.column_stack([x.ravel(), y.ravel()]), photo_plane, base_plane, photo_size)
    inside = (there >= 0).all(1) & (there <= base_size).all(1)
    return replace(placing, seen=float(inside.mean()))


def _doubt(places_px, size, residual_mm, ratio, photo_plane, base_plane) -> str:
    """Why supports at these places do not carry the whole photo, or the two planes contradict the pictures."""
    from scipy.spatial import ConvexHull, QhullError

    try:
        spread = ConvexHull(places_px).volume / (size[0] * size[1])
    except (QhullError, ValueError):
        spread = 0.0
    if spread < SPREAD_SHARE or (residual_mm is not None and residual_mm > WIDEST_MM):
        return "face.unsure"
    if ratio is not None and photo_plane and base_plane:
        slack = SCALE_SLACK + photo_plane.relative_expanded + base_plane.relative_expanded
        if abs(ratio - 1) > slack:
            return "face.scales_differ"
    return ""

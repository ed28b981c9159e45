"""The measuring plane from loose size cards, from a bank card, or from any rectangles of known sides."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from condition.errors import Refused
from condition.imaging.lens import half_diagonal_px
from condition.imaging.plane import mm_per_px_at, outside_cards, relative_expanded, relative_variances
from condition.imaging.plane_faults import Verdict, judged
from condition.imaging.plane_fit import Fit, Rectangle, source_columns
from condition.imaging.plane_noise import excess_variance
from condition.imaging.plane_priors import K1_SD, camera_priors
from condition.imaging.plane_start import quad_size_px, reframed
from condition.imaging.pose import NAMES, rotation
from condition.records.plane import MIRRORED, SET_ASIDE, PhotoPlane, PlaneParameter, ScaleKind, SizeCard
from condition.records.shapes import Pair

METHOD = "loose cards 2"
CARD_SIDE_MM = 40.0
SIDE_SD_UNCHECKED = 0.002
"""Relative standard uncertainty of a card whose print nobody has measured: office printers at 'actual size' keep
0.5 % or better (rectangular 0.35 %; common practice)."""
CHECK_LINE_MM = 100.0
CHECK_SD_MM = 0.1
"""Standard uncertainty of reading the 100 mm line with a steel rule: half a millimetre apart at worst, triangular
(JCGM 100:2008, 4.3.9) and rounded up a little."""
BANK_CARD_MM = (85.60, 53.98)
BANK_CARD_SIDE_SD = 0.0007
"""ISO/IEC 7810 ID-1: 85.47 to 85.72 by 53.92 to 54.03 mm, taken as rectangular."""
BANK_CARD_THICKNESS_MM = 0.76


def plane_from_cards(
    cards: Sequence[SizeCard],
    width: int,
    height: int,
    focal_35mm: float | None,
    surface_height_mm: float = 0.0,
    surface_height_sd_mm: float | None = None,
    card_side_mm: float = CARD_SIDE_MM,
    card_side_sd_mm: float | None = None,
    check_line_mm: float | None = None,
    camera_distance_mm: float | None = None,
    known_lens: tuple[float, float] | None = None,
) -> PhotoPlane:
    """Solve all size cards of a photo together.

    Parameters
    ----------
    cards : as found, upright pixels; those already marked ``left_out`` are carried along unused
    focal_35mm : 35 mm equivalent from the photo's EXIF, or None
    surface_height_mm : measured surface above the cards' plane, towards the camera; its standard uncertainty is
        0.5 mm unless stated, nothing when the height is 0
    check_line_mm : what the sheet's 100 mm line measures on the user's print; corrects the card side
    camera_distance_mm : lens to cards, for a photo without a focal length (3 % standard uncertainty)
    known_lens : (k1, its standard uncertainty) from calibration photos of this camera and lens

    Raises
    ------
    Refused
        No usable card (there is none, the frame cuts them, ids come twice, the photo is mirrored), cards in no one
        plane, or a height that cannot be.
    """
    usable = [card for card in cards if not card.left_out]
    if not usable:
        raise _why_no_card(cards)
    side, side_sd, side_source = card_side_mm, card_side_sd_mm, "card side"
    if check_line_mm is not None:
        if not 80 <= check_line_mm <= 120:
            raise Refused("scale.check_line", mm=f"{check_line_mm:g}")
        side, side_source = card_side_mm * check_line_mm / CHECK_LINE_MM, "print check"
        side_sd = card_side_mm * CHECK_SD_MM / CHECK_LINE_MM if side_sd is None else side_sd
    side_sd = side * SIDE_SD_UNCHECKED if side_sd is None else side_sd
    rectangles = tuple(
        Rectangle(card.id, np.array(card.corners_px), card.corner_sd_px, (side, side)) for card in usable
    )
    lens = (known_lens, "calibrated") if known_lens else ((0.0, K1_SD), "from the cards")
    return _plane(
        "cards", rectangles, cards, width, height, focal_35mm, surface_height_mm, surface_height_sd_mm,
        (side, side_sd, side_source), camera_distance_mm, *lens,
    )  # fmt: skip


def plane_from_bank_card(
    corners_px: Sequence[Pair],
    width: int,
    height: int,
    focal_35mm: float | None,
    pick_sd_px: float = 1.5,
    surface_height_mm: float = -BANK_CARD_THICKNESS_MM,
    surface_height_sd_mm: float | None = None,
    camera_distance_mm: float | None = None,
) -> PhotoPlane:
    """Scale from a bank card (ISO/IEC 7810 ID-1) lying on the surface, its sides prolonged to four corners.

    corners_px : in order round the card, starting anywhere and either way round
    """
    corners = np.array(corners_px, float)
    if corners.shape != (4, 2) or not _is_convex(corners):
        raise Refused("scale.bank_card_corners")
    x, y = corners.T
    if np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)) < 0:
        corners = corners[::-1]
    sides = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    if sides[0] + sides[2] < sides[1] + sides[3]:
        corners = np.roll(corners, -1, axis=0)
    shown = SizeCard(0, tuple((float(a), float(b)) for a, b in corners), pick_sd_px)
    rectangle = Rectangle(0, corners, pick_sd_px, BANK_CARD_MM)
    side = (BANK_CARD_MM[0], BANK_CARD_MM[0] * BANK_CARD_SIDE_SD, "card side")
    return _plane(
        "bank card", (rectangle,), (shown,), width, height, focal_35mm, surface_height_mm,
        0.1 if surface_height_sd_mm is None else surface_height_sd_mm, side, camera_distance_mm,
        (0.0, K1_SD), "assumed",
    )  # fmt: skip


def _is_convex(corners: np.ndarray) -> bool:
    edges = np.roll(corners, -1, axis=0) - corners
    following = np.roll(edges, -1, axis=0)
    turns = edges[:, 0] * following[:, 1] - edges[:, 1] * following[:, 0]
    return bool((turns > 0).all() or (turns < 0).all())


def _plane(
    kind: ScaleKind,
    rectangles: tuple[Rectangle, ...],
    shown: Sequence[SizeCard],
    width: int,
    height: int,
    focal_35mm: float | None,
    surface_height_mm: float,
    surface_height_sd_mm: float | None,
    side: tuple[float, float, str],
    camera_distance_mm: float | None,
    k1: tuple[float, float],
    lens: str,
) -> PhotoPlane:
    if not math.isfinite(surface_height_mm):
        raise Refused("scale.height", mm=f"{surface_height_mm}")
    half = half_diagonal_px(width, height)
    rectangles = tuple(sorted(rectangles, key=lambda r: -quad_size_px(r.corners_px)))
    advice: list[tuple[str, tuple[tuple[str, str], ...]]] = []
    priors, focal, centre, focal_known = camera_priors(width, height, focal_35mm, k1, camera_distance_mm)
    verdict = judged(rectangles, priors, focal, centre, half)
    if focal_known and _focal_disagrees(verdict.fit):
        advice.append(("scale.advice.focal_odd", (("mm", f"{focal_35mm:g}"),)))
        priors, focal, centre, focal_known = camera_priors(width, height, None, k1, camera_distance_mm)
        verdict = judged(rectangles, priors, focal, centre, half)
    elif not focal_known and focal_35mm is not None:
        advice.append(("scale.advice.focal_absurd", (("mm", f"{focal_35mm:g}"),)))
    if not verdict.one_plane:
        raise Refused("scale.not_one_plane", cards=_listed(r.id for r in verdict.fit.rectangles))
    fit = reframed(verdict.fit, half)
    distance = float(np.linalg.norm(fit.camera[8:11]))
    lift = float(fit.camera[8:11] @ rotation(fit.camera[5:8])[:, 2])
    if surface_height_mm > 0.8 * lift:
        raise Refused("scale.height_too_great", mm=f"{surface_height_mm:g}", camera=f"{lift:.0f}")
    if surface_height_mm < -3 * lift:
        raise Refused("scale.height", mm=f"{surface_height_mm:g}")
    height_sd = surface_height_sd_mm
    if height_sd is None:
        height_sd = 0.5 if surface_height_mm else 0.0
    plane = PhotoPlane(
        kind=kind,
        parameters=tuple(
            PlaneParameter(name, float(value))
            for name, value in zip(NAMES, [*fit.camera, 1.0, surface_height_mm], strict=True)
        ),
        sources=_sources(fit, side, height_sd),
        width=width,
        height=height,
        surface_height_mm=surface_height_mm,
        surface_height_sd_mm=height_sd,
        card_side_mm=side[0],
        cards=_with_residuals(shown, fit, verdict),
        residual_px=float(np.sqrt((fit.corner_residuals_px**2).sum(-1).mean())),
        tilt_degrees=float(np.degrees(np.arccos(np.clip(rotation(fit.camera[5:8])[2, 2], -1, 1)))),
        lens=lens,
        method=METHOD,
    )
    plane = _with_excess(plane, fit)
    advice += _advice(plane, verdict, focal_known, camera_distance_mm, side[2], distance)
    return _summed_up(plane, tuple(advice))


def _focal_disagrees(fit: Fit) -> bool:
    row = 8 * len(fit.rectangles)
    return abs(float(fit.residuals[row])) > 3.5 and fit.priors[0].index == 0


def _listed(ids) -> str:
    return ", ".join(str(i) for i in sorted(ids))


def _sources(
    fit: Fit, side: tuple[float, float, str], height_sd: float
) -> tuple[tuple[str, tuple[tuple[float, ...], ...]], ...]:
    columns = source_columns(fit)
    full = {name: np.vstack([block, np.zeros((2, block.shape[1]))]) for name, block in columns.items()}
    unit = np.eye(len(NAMES))
    if side[1] > 0:
        full[side[2]] = unit[:, 11:12] * side[1] / side[0]
    if height_sd > 0:
        full["height"] = unit[:, 12:13] * height_sd
    return tuple((name, tuple(tuple(float(v) for v in column) for column in block.T)) for name, block in full.items())


def _with_excess(plane: PhotoPlane, fit: Fit) -> PhotoPlane:
    """The plane with the source "plane residual", where the corners scatter more than stated."""
    variances = relative_variances(plane)
    corners = variances["corners"]
    excess = excess_variance(fit, corners, sum(variances.values()) - corners)
    if excess == 0:
        return plane
    columns = tuple(tuple(math.sqrt(excess) * v for v in column) for column in dict(plane.sources)["corners"])
    return replace(plane, sources=(*plane.sources, ("plane residual", columns)))


def _with_residuals(shown: Sequence[SizeCard], fit: Fit, verdict: Verdict) -> tuple[SizeCard, ...]:
    residuals = {
        r.id: tuple((float(x), float(y)) for x, y in block)
        for r, block in zip(fit.rectangles, fit.corner_residuals_px, strict=True)
    }
    gone = dict(verdict.left_out)
    return tuple(
        replace(card, residuals_px=residuals.get(card.id, ()), left_out=card.left_out or gone.get(card.id, ""))
        for card in shown
    )


def _why_no_card(cards: Sequence[SizeCard]) -> Refused:
    """Return the reason why none of the cards seen can be used."""
    for why in (MIRRORED, "twice", "cut", "covered", SET_ASIDE):
        ids = sorted({card.id for card in cards if card.left_out == why})
        if ids:
            return Refused(f"scale.all_{why.replace(' ', '_')}", cards=", ".join(map(str, ids)))
    return Refused("scale.no_card")


def _advice(plane, verdict, focal_known, camera_distance_mm, side_source, distance):
    say: list[tuple[str, tuple[tuple[str, str], ...]]] = []
    used = [card for card in plane.cards if not card.left_out]
    for card in plane.cards:
        if card.left_out:
            code = "scale.advice.left_out_" + card.left_out.replace(" ", "_")
            say.append((code, (("card", str(card.id)),)))
    if plane.kind == "cards":
        if len(used) == 1:
            say.append(("scale.advice.one_card", ()))
        elif _lopsided(plane):
            say.append(("scale.advice.one_side", ()))
        if side_source == "card side":
            say.append(("scale.advice.print_unchecked", ()))
    if not focal_known and camera_distance_mm is None:
        say.append(("scale.advice.no_focal" if not plane.surface_height_mm else "scale.advice.no_focal_height", ()))
    if plane.surface_height_mm < 0 and plane.kind == "cards":
        say.append(("scale.advice.height_below", (("mm", f"{-plane.surface_height_mm:g}"),)))
    return say


def _lopsided(plane: PhotoPlane) -> bool:
    """Whether the cards leave more than half their own span of the picture's middle outside their hull."""
    middle = np.array([[plane.width / 2, plane.height / 2]])
    used = np.concatenate([np.array(card.corners_px) for card in plane.cards if not card.left_out])
    spread = (used.max(0) - used.min(0)) / (plane.width, plane.height)
    return outside_cards(middle, plane) > 0.25 or float(np.hypot(*spread)) < 0.5


def _summed_up(plane: PhotoPlane, advice) -> PhotoPlane:
    return replace(
        plane,
        advice=advice,
        mm_per_px=float(mm_per_px_at(np.array([[plane.width / 2, plane.height / 2]]), plane)[0]),
        relative_expanded=relative_expanded(plane),
    )

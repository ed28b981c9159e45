"""A photo's measuring plane in millimetres, as it was found: by size cards, a known distance or a bank card."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from condition.records.shapes import Pair

ScaleKind = Literal["cards", "known distance", "bank card"]

MIRRORED, OTHER_PLANE, SET_ASIDE = "mirrored", "other plane", "set aside"
"""Reasons why a card is left out: the photo was flipped, it does not lie with the others, somebody chose others."""


@dataclass(frozen=True, slots=True)
class SizeCard:
    """One detected card: ``corners_px`` are the marker's four outer corners, upright-photo pixels, in the
    dictionary's order (top left, top right, bottom right, bottom left of the printed marker); ``left_out`` is the
    reason why the scale does not go by it, empty when it does."""

    id: int
    corners_px: tuple[Pair, Pair, Pair, Pair]
    corner_sd_px: float
    residuals_px: tuple[Pair, ...] = ()
    left_out: str = ""


@dataclass(frozen=True, slots=True)
class PlaneParameter:
    """One fitted number and its error source's share; see ``condition.imaging.plane``."""

    name: str
    value: float


@dataclass(frozen=True, slots=True)
class PhotoPlane:
    """Everything that maps between upright pixels and millimetres of the measured surface.

    parameters : named values of the camera and the measured surface, in the order of ``sources`` columns
    sources : for each named error source, the square root of its covariance over the parameters as columns:
        ``(name, ((dp1, dp2, ...), ...))`` where each inner tuple is one independent standard (k = 1) displacement of
        the parameter vector. The full covariance is the sum of outer products over all columns of all sources.
    width, height : upright size of the photo in pixels
    surface_height_mm : height of the measured surface above the cards' plane, towards the camera
    residual_px : rms distance of the fitted card corners
    method : name and version of the estimator
    """

    kind: ScaleKind
    parameters: tuple[PlaneParameter, ...]
    sources: tuple[tuple[str, tuple[tuple[float, ...], ...]], ...]
    width: int
    height: int
    surface_height_mm: float = 0.0
    surface_height_sd_mm: float = 0.0
    card_side_mm: float = 40.0
    cards: tuple[SizeCard, ...] = ()
    residual_px: float = 0.0
    mm_per_px: float = 0.0
    relative_expanded: float = 0.0
    tilt_degrees: float | None = None
    lens: str = ""
    advice: tuple[tuple[str, tuple[tuple[str, str], ...]], ...] = ()
    method: str = ""

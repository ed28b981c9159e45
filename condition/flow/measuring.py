"""From a photo to its plane and from its marks to measurements: one way for the pages and the command line."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from condition.errors import Refused
from condition.records.measurement import Measurement
from condition.records.plane import PhotoPlane
from condition.records.shapes import Pair, Shape

if TYPE_CHECKING:
    from condition.flow.loose_photos import ReadPhoto


def plane_for_photo(
    rgb: np.ndarray,
    focal_35mm: float | None,
    height_mm: float = 0.0,
    only_cards: Iterable[int] | None = None,
    **known: object,
) -> PhotoPlane:
    """The measuring plane of a photo from its size cards.

    only_cards : ids to go by, for a photo with cards in several planes
    known : further arguments of :func:`condition.imaging.plane_from_cards.plane_from_cards`

    Raises
    ------
    Refused
        As :func:`condition.imaging.plane_from_cards.plane_from_cards`; a card of ``only_cards`` is not there.
    """
    from condition.imaging.markers import find_cards
    from condition.imaging.plane_from_cards import plane_from_cards

    cards = find_cards(rgb)
    if only_cards is not None:
        chosen = set(only_cards)
        cards = tuple(card for card in cards if card.id in chosen)
        if not cards:
            raise Refused("scale.card_not_seen", cards=", ".join(map(str, sorted(chosen))))
    height, width = rgb.shape[:2]
    return plane_from_cards(cards, width, height, focal_35mm, surface_height_mm=height_mm, **known)


def plane_for_distance(rgb: np.ndarray, focal_35mm: float | None, known: tuple[float, ...], height_mm: float = 0.0):
    """The plane of a photo by ``x1, y1, x2, y2, mm``; the distance is taken as good to half a percent."""
    from condition.imaging.plane_from_distance import plane_from_known_distance

    height, width = rgb.shape[:2]
    x1, y1, x2, y2, mm = known
    return plane_from_known_distance(
        (x1, y1), (x2, y2), mm, max(0.5, 0.0025 * mm) / 2, width, height, focal_35mm, surface_height_mm=height_mm
    )


def measure_mark(
    kind: str,
    shape_px: Shape,
    plane: PhotoPlane,
    how: str = "hand",
    pick_sd_px: float | None = None,
    rgb: np.ndarray | None = None,
    photo_id: str | None = None,
) -> tuple[Measurement, ...]:
    """Measure one mark; ``how`` and ``pick_sd_px`` as its record has them. Nothing for a point.

    Raises
    ------
    Refused
        The mark shows no part of the surface, or encloses nothing.
    """
    from condition.measure.shape import measure_shape
    from condition.measure.way import way_of

    return measure_shape(kind, shape_px, plane, way_of(how, pick_sd_px), rgb, photo_id)


@dataclass(frozen=True, slots=True)
class Measured:
    """What one mark measures, or the refusal's code; ``outside`` tells how far outside the cards it lies (their
    longest span is 1)."""

    measurements: tuple[Measurement, ...]
    outside: float = 0.0
    refused: Refused | None = None


def measure_marks(
    marks: Iterable[tuple[str, Shape]],
    plane: PhotoPlane,
    rgb: np.ndarray | None = None,
    how: str = "imported",
    pick_sd_px: float | None = None,
    photo_id: str | None = None,
) -> tuple[Measured, ...]:
    """Measure marks given as (kind, shape) in upright pixels, in order; one bad mark does not stop the others."""
    found = []
    for kind, shape_px in marks:
        try:
            measurements = measure_mark(kind, shape_px, plane, how, pick_sd_px, rgb, photo_id)
        except Refused as refusal:
            found.append(Measured((), 0.0, refusal))
            continue
        found.append(Measured(measurements, far_outside(shape_px, plane)))
    return tuple(found)


def far_outside(shape_px: Shape, plane: PhotoPlane) -> float:
    """How far a mark lies outside the hull of the photo's cards: 0 inside, 1 at the hull's longest span."""
    from condition.imaging.plane import outside_cards

    return outside_cards(np.array(points_of(shape_px)), plane)


def points_of(shape_px: Shape) -> tuple[Pair, ...]:
    points = getattr(shape_px, "points", None)
    return points if points is not None else ((shape_px.x, shape_px.y),)


def plane_from_arguments(
    photo: ReadPhoto, height_mm: float, cards: str | None, check_line_mm: float | None, distance_mm: float | None
) -> PhotoPlane:
    """The plane of a photo by what the command line was given."""
    try:
        only = None if cards is None else [int(part) for part in cards.split(",")]
    except ValueError as error:
        raise Refused("scale.cards_form", text=cards) from error
    return plane_for_photo(
        photo.rgb,
        photo.focal_35mm,
        height_mm,
        only,
        check_line_mm=check_line_mm,
        camera_distance_mm=distance_mm,
    )


def marks_on(text: bytes, path: str, photo: ReadPhoto) -> tuple:
    """The marks that an annotation file puts on a photo; see :func:`condition.report.annotations.read_marks`."""
    from condition.report.annotations import Picture, read_marks

    return read_marks(text, Picture(Path(path).name, photo.width, photo.height))


def plane_told(plane: PhotoPlane) -> dict[str, object]:
    """The plane as the command line tells it: which cards, the map from mm to pixels, the lens, what it is worth."""
    from condition.imaging.plane import homography, lens_of

    return {
        "cards": [card.id for card in plane.cards if not card.left_out],
        "homography": homography(plane).tolist(),
        "lens": lens_of(plane),
        "residual_px": plane.residual_px,
        "mm_per_px": plane.mm_per_px,
        "relative_expanded": plane.relative_expanded,
        "tilt_degrees": plane.tilt_degrees,
        "left_out": {str(card.id): card.left_out for card in plane.cards if card.left_out},
    }


def budget_of(measurement: Measurement) -> tuple[tuple[str, float, float], ...]:
    """The uncertainty budget as a table: (catalogue code, standard uncertainty in the measurement's unit, share of the
    variance 0..1), the largest first, each source once."""
    from condition.measure.budget import by_source, combined

    whole = combined(measurement.parts) ** 2 or 1.0
    rows = by_source(measurement.parts)
    return tuple((f"budget.{name.replace(' ', '_')}", standard, standard**2 / whole) for name, standard in rows)

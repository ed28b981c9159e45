"""Diameter and ovality of a hole: its rim mapped to the surface and an ellipse fitted there, in millimetres."""

from __future__ import annotations

import math

import numpy as np

from condition.measure.budget import measured, shared_parts
from condition.measure.geometry import local_maps, seen_mm
from condition.measure.way import Way
from condition.records.measurement import COVERAGE_K, Contribution, Measurement
from condition.records.plane import PhotoPlane
from condition.records.shapes import Circle

METHOD = "rim 1"
RIM_POINTS = 64


def drawn_rim(circle_px: Circle, count: int = RIM_POINTS) -> np.ndarray:
    """Points (count, 2) px round a circle as drawn."""
    turn = np.arange(count) * 2 * math.pi / count
    return np.column_stack(
        [circle_px.x + circle_px.radius * np.cos(turn), circle_px.y + circle_px.radius * np.sin(turn)]
    )


def oval_of(points: np.ndarray) -> tuple[float, float, float]:
    """(mean diameter, longest less shortest diameter, rms left over) of rim points (N, 2) all round.

    Radius against direction r = r0 + a cos t + b sin t + c cos 2t + d sin 2t, to first order the ellipse of mean
    diameter 2 r0 and axes 2 (r0 +- sqrt(c2 + d2)); the middle is moved until a and b vanish.
    """
    middle = points.mean(0)
    for _ in range(8):
        away = points - middle
        turn = np.arctan2(away[:, 1], away[:, 0])
        columns = [np.ones_like(turn), np.cos(turn), np.sin(turn)]
        if len(points) >= 8:
            columns += [np.cos(2 * turn), np.sin(2 * turn)]
        basis = np.column_stack(columns)
        radii = np.hypot(*away.T)
        found, *_ = np.linalg.lstsq(basis, radii, rcond=None)
        middle = middle + found[1:3]
        if np.hypot(*found[1:3]) < 1e-10 * found[0]:
            break
    left = radii - basis @ found
    freedom = max(len(points) - basis.shape[1], 1)
    oval = 4 * float(np.hypot(*found[3:5])) if len(found) > 3 else 0.0
    return 2 * float(found[0]), oval, float(np.sqrt((left**2).sum() / freedom))


def diameter_of(
    rim_px: np.ndarray,
    plane: PhotoPlane,
    way: Way,
    photo_id: str | None = None,
    edge_sd_px: float | None = None,
    fitted: bool = False,
) -> tuple[Measurement, ...]:
    """Diameter, and when the rim was fitted to the photo also the ovality, of points (N, 2) px round a rim.

    edge_sd_px : standard uncertainty of the rim's place as a whole (all points in or out together)
    """
    diameter, parts = shared_parts(lambda p: [oval_of(rim)[0] for rim in seen_mm(rim_px, plane, p)], plane)
    _, oval, left = oval_of(seen_mm(rim_px, plane))
    maps = local_maps(rim_px, plane)
    mm_per_px = float(np.sqrt(np.abs(np.linalg.det(maps))).mean())
    edge = way.edge_sd_px if edge_sd_px is None else edge_sd_px
    if not fitted:
        pick = math.hypot(way.pick_sd_px, edge) * mm_per_px * math.sqrt(2)
        seen_from = float(np.linalg.norm(maps, axis=(1, 2)).mean()) / (math.sqrt(2) * mm_per_px)
        lean = 0.5 * diameter * (seen_from - 1)
        own = (Contribution("pick", pick), Contribution("shape", lean))
        return (measured("diameter", diameter, "mm", (*parts, *own), photo_id, METHOD),)
    scatter = 2 * left / math.sqrt(len(rim_px)) * 1.5
    own = (Contribution("pick", scatter), Contribution("edge softness", 2 * edge * mm_per_px))
    found = measured("diameter", diameter, "mm", (*parts, *own), photo_id, METHOD)
    oval_standard = 4 * math.hypot(left * math.sqrt(2 / len(rim_px)) * 1.5, 0.25 * edge * mm_per_px)
    if oval > COVERAGE_K * oval_standard:
        squeezed = shared_parts(lambda p: [oval_of(rim)[1] for rim in seen_mm(rim_px, plane, p)], plane)[1]
        return found, measured(
            "ovality", oval, "mm", (*squeezed, Contribution("pick", oval_standard)), photo_id, METHOD
        )
    return found, Measurement("ovality", COVERAGE_K * oval_standard, "mm", 0.0, "photo", METHOD, "below", (), photo_id)

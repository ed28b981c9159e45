"""Width across a crack or seam, from its profile in the photo to millimetres of the surface."""

from __future__ import annotations

import math

import numpy as np

from condition.imaging.cross_section import CrossSection
from condition.measure.budget import combined, measured, shared_parts
from condition.measure.geometry import seen_mm
from condition.records.measurement import COVERAGE_K, Contribution, Measurement
from condition.records.plane import PhotoPlane

METHOD = "profile width 1"
MODEL_SD_PX = 0.06
"""What a box blurred by a Gaussian gets wrong on cracks of known width, from 3 px up (standard uncertainty)."""
LIP_SD_MM = 0.06
"""Where a crack begins is uncertain by some hundredths of a millimetre: its lips are rounded or chipped, and
light falls into them (in rendered photographs a crack 0.48 mm wide between its painted lips reads 0.58 mm; the
figure is set so that the ± reaches that)."""


def widths_of(
    path_px: np.ndarray, seen: CrossSection, plane: PhotoPlane, photo_id: str | None = None
) -> tuple[Measurement, ...]:
    """Mean and widest width across a path (N, 2) px, or the bound that the photo supports, in mm.

    A width in pixels is laid across the path at points along it and mapped with the plane.
    """
    places, across = _stations(path_px)

    def width_mm(parameters: np.ndarray, px: float) -> np.ndarray:
        ends = np.vstack([places - 0.5 * px * across, places + 0.5 * px * across])
        both = seen_mm(ends, plane, parameters)
        return np.sqrt(((both[..., len(places) :, :] - both[..., : len(places), :]) ** 2).sum(-1)).mean(-1)

    if seen.bound:
        value, parts = shared_parts(lambda p: width_mm(p, seen.bound_px), plane)
        limit = value + COVERAGE_K * combined(parts)
        return (Measurement("width", limit, "mm", 0.0, "photo", METHOD, "below", (), photo_id),)
    found = []
    for quantity, px, sd in (("width", seen.mean_px, seen.mean_sd_px), ("widest", seen.widest_px, seen.widest_sd_px)):
        value, parts = shared_parts(lambda p, px=px: width_mm(p, px), plane)
        scale = value / px
        soft = math.hypot(MODEL_SD_PX * scale, LIP_SD_MM)
        own = (Contribution("edge softness", soft), Contribution("pick", sd * scale))
        found.append(measured(quantity, value, "mm", (*parts, *own), photo_id, METHOD))
    return tuple(found)


def _stations(path_px: np.ndarray, count: int = 15) -> tuple[np.ndarray, np.ndarray]:
    steps = np.hypot(*np.diff(path_px, axis=0).T)
    along = np.append(0.0, np.cumsum(steps))
    at = (np.arange(count) + 0.5) / count * along[-1]
    places = np.column_stack([np.interp(at, along, path_px[:, axis]) for axis in (0, 1)])
    segment = np.clip(np.searchsorted(along, at) - 1, 0, len(steps) - 1)
    ahead = np.diff(path_px, axis=0)[segment] / np.maximum(steps[segment], 1e-9)[:, None]
    return places, np.column_stack([-ahead[:, 1], ahead[:, 0]])

"""Area of rings with holes, their share of a face, and the length and width of a groove drawn as a ring."""

from __future__ import annotations

import math

import numpy as np
from shapely import make_valid
from shapely.geometry import MultiPolygon, Polygon

from condition.errors import Refused
from condition.measure.budget import measured, ratio_of, shared_parts
from condition.measure.geometry import dense, path_length, seen_mm, signed_area, vertex_area_standard
from condition.measure.way import Way
from condition.records.measurement import Contribution, Measurement
from condition.records.plane import PhotoPlane
from condition.records.shapes import Ring

METHOD = "ring area 1"


def loops_of(ring: Ring) -> list[tuple[float, np.ndarray]]:
    """The ring's boundary as simple loops with their sign: +1 adds, -1 takes away; crossings are untangled."""
    shape = Polygon(ring.points, ring.holes)
    if not shape.is_valid:
        shape = make_valid(shape)
    parts = [shape] if isinstance(shape, Polygon) else list(getattr(shape, "geoms", ()))
    polygons: list[Polygon] = []
    for part in parts:
        polygons += list(part.geoms) if isinstance(part, MultiPolygon) else [part] if isinstance(part, Polygon) else []
    loops = []
    for polygon in polygons:
        loops.append((1.0, np.array(polygon.exterior.coords)[:-1]))
        loops += [(-1.0, np.array(hole.coords)[:-1]) for hole in polygon.interiors]
    return [(sign, loop) for sign, loop in loops if abs(signed_area(loop)) > 0]


def area_of(
    ring_px: Ring, plane: PhotoPlane, way: Way, photo_id: str | None = None, softness_px: float | None = None
) -> Measurement:
    """Area of a ring less its holes on the measured surface, in mm2.

    softness_px : standard uncertainty of the edge's place as a whole, where it has been looked at in the photo

    Raises
    ------
    Refused
        The ring encloses nothing, or runs beyond the surface's horizon.
    """
    loops = loops_of(ring_px)
    if not loops:
        raise Refused("measure.empty_ring")
    fine = [(sign, dense(loop, closed=True)) for sign, loop in loops]

    def valued(parameters: np.ndarray) -> np.ndarray:
        return sum(sign * np.abs(signed_area(seen_mm(loop, plane, parameters))) for sign, loop in fine)

    value, parts = shared_parts(valued, plane)
    vertices = math.sqrt(sum(vertex_area_standard(loop, plane, way.pick_sd_px) ** 2 for _, loop in loops))
    soft = way.edge_sd_px if softness_px is None else softness_px
    around = sum(_shift(loop, plane) for _, loop in fine)
    own = (Contribution("pick", vertices), Contribution("edge softness", soft * around))
    return measured("area", value, "mm2", (*parts, *own), photo_id, METHOD)


def _shift(loop_px: np.ndarray, plane: PhotoPlane) -> float:
    """By how many mm2 a loop's area changes when its edge moves out by one pixel."""
    after = np.roll(loop_px, -1, axis=0) - np.roll(loop_px, 1, axis=0)
    normal = np.column_stack([after[:, 1], -after[:, 0]]) / np.maximum(np.hypot(*after.T), 1e-9)[:, None]
    out = abs(signed_area(seen_mm(loop_px + 0.5 * normal, plane)))
    return abs(out - abs(signed_area(seen_mm(loop_px - 0.5 * normal, plane))))


def share_of(ring_px: Ring, face_px: Ring, plane: PhotoPlane, way: Way, photo_id: str | None = None) -> Measurement:
    """Share of an outlined face that a ring takes, in percent; the photo's scale falls out of it."""
    return ratio_of(area_of(ring_px, plane, way, photo_id), area_of(face_px, plane, way, photo_id))


def _size(loop: np.ndarray) -> float:
    return abs(signed_area(loop))


def groove_of(
    ring_px: Ring, plane: PhotoPlane, way: Way, photo_id: str | None = None
) -> tuple[Measurement, Measurement]:
    """Overall length and width of a groove drawn as a ring: the bent, round-ended slot of the same area and perimeter.

    A slot of width w and overall length l along its bend has area w (l - w) + pi w2 / 4 and perimeter
    2 (l - w) + pi w.
    """
    loop = max((loop for sign, loop in loops_of(ring_px) if sign > 0), key=_size, default=None)
    if loop is None:
        raise Refused("measure.empty_ring")
    fine = dense(loop, closed=True)

    def slot(parameters: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        seen = seen_mm(fine, plane, parameters)
        area, around = np.abs(signed_area(seen)), path_length(np.concatenate([seen, seen[..., :1, :]], -2))
        root = np.sqrt(np.maximum(around**2 / 4 - math.pi * area, 0.0))
        width = (around / 2 - root) / (math.pi / 2)
        return (around - math.pi * width) / 2 + width, width

    length, length_parts = shared_parts(lambda p: slot(p)[0], plane)
    width, width_parts = shared_parts(lambda p: slot(p)[1], plane)
    seen = seen_mm(fine, plane)
    shift = _shift(fine, plane) / path_length(np.vstack([seen, seen[:1]]))
    pick = 2 * way.edge_sd_px * shift
    ends = math.sqrt(2) * way.pick_sd_px * shift
    along = (*length_parts, Contribution("pick", math.hypot(pick, ends)))
    across = (*width_parts, Contribution("pick", math.hypot(pick, ends / 2)))
    return (
        measured("length", length, "mm", along, photo_id, METHOD),
        measured("width", width, "mm", across, photo_id, METHOD),
    )

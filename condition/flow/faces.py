"""From a photo's plane to a face's own frame: y towards the tail, x to the right as seen, millimetres."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from condition.imaging.plane import to_mm
from condition.measure.geometry import dense
from condition.records.plane import PhotoPlane
from condition.records.shapes import Circle, Line, Pair, Point, Ring, Shape
from condition.records.view import NeckTowards

_TAIL_ANGLE = {"up": 90.0, "left": 0.0, "down": -90.0, "right": 180.0}
"""Direction of the tail in the upright photo, degrees from x towards y (down), for each place of the neck."""

_LONGEST_TURN = 25.0
"""Degrees by which the outline's long axis may turn the frame; more means the shape has no clear axis."""

_STEP_PX = 8.0

ToFace = Callable[[np.ndarray], np.ndarray]
"""Carries upright pixels of one photo, (N, 2), to where they lie on the face, (N, 2)."""


@dataclass(frozen=True, slots=True)
class FaceFrame:
    """Rigid move from a photo's plane to its face: ``face = turn @ (plane - origin_mm)``."""

    angle_degrees: float
    origin_mm: Pair
    shift_mm: Pair

    def place(self, points_mm: np.ndarray) -> np.ndarray:
        """Move points, shape (N, 2), plane mm to face mm."""
        angle = math.radians(self.angle_degrees)
        turn = np.array([[math.cos(angle), math.sin(angle)], [-math.sin(angle), math.cos(angle)]])
        return (points_mm - np.array(self.origin_mm)) @ turn.T + np.array(self.shift_mm)


def face_frame(outline_px: Ring, plane: PhotoPlane, neck_towards: NeckTowards) -> FaceFrame:
    """Return the frame of a face from its outline: the long axis nearest to the neck's direction becomes y."""
    outline_mm = to_mm(dense(np.array(outline_px.points), True, _STEP_PX), plane)
    centre, axis = _long_axis(outline_mm)
    coarse = _direction_mm(outline_px, plane, _TAIL_ANGLE[neck_towards])
    turn = (math.degrees(math.atan2(axis[1], axis[0])) - coarse + 90.0) % 180.0 - 90.0
    tail = coarse + (turn if abs(turn) <= _LONGEST_TURN else 0.0)
    frame = FaceFrame(tail - 90.0, (float(centre[0]), float(centre[1])), (0.0, 0.0))
    placed = frame.place(outline_mm)
    low, high = placed.min(axis=0), placed.max(axis=0)
    return FaceFrame(frame.angle_degrees, frame.origin_mm, (float(-(low[0] + high[0]) / 2), float(-low[1])))


def from_base(plane: PhotoPlane, frame: FaceFrame) -> ToFace:
    """Return the way from upright pixels of a face's base photo to its millimetres."""
    return lambda points_px: frame.place(to_mm(points_px, plane))


def place_shape(shape_px: Shape, to_face: ToFace) -> Shape:
    """Return a shape drawn on a photo where ``to_face`` carries it; lines and rings keep the lens's bend."""

    def move(points: tuple[Pair, ...], closed: bool) -> tuple[Pair, ...]:
        placed = to_face(dense(np.array(points, float), closed, _STEP_PX))
        return tuple((float(x), float(y)) for x, y in placed)

    match shape_px:
        case Point(x, y):
            return Point(*move(((x, y),), False)[0])
        case Circle(x, y, radius):
            angles = np.linspace(0, 2 * math.pi, 48, endpoint=False)
            rim_px = np.c_[x + radius * np.cos(angles), y + radius * np.sin(angles)]
            rim = to_face(rim_px)
            centre = rim.mean(axis=0)
            return Circle(float(centre[0]), float(centre[1]), float(np.hypot(*(rim - centre).T).mean()))
        case Line(points):
            return Line(move(points, False))
        case Ring(points, holes):
            return Ring(move(points, True), tuple(move(hole, True) for hole in holes))


def _long_axis(ring_mm: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return centroid and first principal axis of a filled polygon, from its moments of area (Green's theorem)."""
    x, y = (ring_mm - ring_mm.mean(axis=0)).T
    xn, yn = np.roll(x, -1), np.roll(y, -1)
    cross = x * yn - xn * y
    area = cross.sum() / 2
    centroid = np.array([((x + xn) * cross).sum(), ((y + yn) * cross).sum()]) / (6 * area)
    sxx = ((x * x + x * xn + xn * xn) * cross).sum() / (12 * area) - centroid[0] ** 2
    syy = ((y * y + y * yn + yn * yn) * cross).sum() / (12 * area) - centroid[1] ** 2
    sxy = ((x * yn + 2 * x * y + 2 * xn * yn + xn * y) * cross).sum() / (24 * area) - centroid[0] * centroid[1]
    _, vectors = np.linalg.eigh(np.array([[sxx, sxy], [sxy, syy]]))
    return centroid + ring_mm.mean(axis=0), vectors[:, 1]


def _direction_mm(outline_px: Ring, plane: PhotoPlane, angle_degrees: float) -> float:
    """Return a direction of the photo, in degrees, as it runs in the plane at the outline's middle."""
    middle = np.mean(outline_px.points, axis=0)
    step = 10 * np.array([math.cos(math.radians(angle_degrees)), math.sin(math.radians(angle_degrees))])
    here, there = to_mm(np.array([middle, middle + step]), plane)
    return math.degrees(math.atan2(*(there - here)[::-1]))

"""Cameras with known truth, for tests of the scale: written apart from the program's own camera, and knowing more.

A bench seen from above: x to the right, y up in an unturned photo, z up towards the
camera. The lens bends with k1 and k2, the axis may miss the picture's middle.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np


@dataclass(frozen=True)
class Camera:
    width: int
    height: int
    focal: float
    eye: np.ndarray
    axes: np.ndarray = field(repr=False)
    k1: float = 0.0
    k2: float = 0.0
    offset: tuple[float, float] = (0.0, 0.0)

    def shoot(self, points: np.ndarray) -> np.ndarray:
        """Bench points (N, 3) mm to pixels (N, 2)."""
        relative = (np.asarray(points, float) - self.eye) @ self.axes.T
        tangent = relative[:, :2] / relative[:, 2:3]
        shown = self.focal * tangent
        corner = np.hypot(self.width / 2, self.height / 2)
        rho = np.linalg.norm(shown, axis=1, keepdims=True) / corner
        bent = shown + shown * (self.k1 * rho**2 + self.k2 * rho**4)
        return bent + np.array([self.width / 2 + self.offset[0], self.height / 2 + self.offset[1]])


def over_bench(
    tilt: float,
    azimuth: float,
    roll: float,
    distance: float,
    focal: float,
    width: int = 4000,
    height: int = 3000,
    aim: tuple[float, float] = (0.0, 0.0),
    **lens: object,
) -> Camera:
    """A camera `distance` mm from the aimed point of the bench, `tilt` degrees off the vertical towards `azimuth`."""
    t, a, r = np.radians([tilt, azimuth, roll])
    away = np.array([np.sin(t) * np.cos(a), np.sin(t) * np.sin(a), np.cos(t)])
    eye = np.array([*aim, 0.0]) + distance * away
    forward = -away
    side = np.array([1.0, 0.0, 0.0])
    right = side - (side @ forward) * forward
    right /= np.linalg.norm(right)
    down = np.cross(forward, right)
    axes = np.stack([np.cos(r) * right + np.sin(r) * down, -np.sin(r) * right + np.cos(r) * down, forward])
    return Camera(width, height, focal, eye, axes, **lens)


def card_outline(x: float, y: float, turn: float, side: float = 40.0, bend: float = 0.0) -> np.ndarray:
    """Corners (4, 3) of a card on the bench; `bend` lifts one corner by so many mm."""
    half = side / 2
    local = np.array([[-half, half], [half, half], [half, -half], [-half, -half]])
    c, s = np.cos(turn), np.sin(turn)
    flat = local @ np.array([[c, s], [-s, c]]) + (x, y)
    return np.column_stack([flat, [0.0, 0.0, bend, 0.0]])

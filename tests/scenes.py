"""Synthetic photos with known truth: cards, holes, cracks and worn finish on a bench, by name.

Everything is drawn in linear light by supersampling what each pixel sees, then blurred, coded as sRGB and given noise,
as a camera does it. Truth comes from the construction.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import cv2
import numpy as np
from cameras import Camera

Paint = Callable[[np.ndarray], np.ndarray]
"""Bench points (N, 2) mm to light (N,), NaN where this paint does not cover."""

FINE = 8


def card_paint(card_id: int, x: float, y: float, turn: float, black: float = 0.03, white: float = 0.8) -> Paint:
    """A size card with its white margin of 8 mm, 40 mm marker, middle at (x, y)."""
    cells = np.pad(
        cv2.aruco.generateImageMarker(cv2.aruco.getPredefinedDictionary(0), card_id, 6), 1, constant_values=255
    )
    c, s = np.cos(turn), np.sin(turn)

    def paint(points: np.ndarray) -> np.ndarray:
        local = (points - (x, y)) @ np.array([[c, -s], [s, c]])
        column = np.floor((local[:, 0] + 20) / (40 / 6)).astype(int) + 1
        row = np.floor((20 - local[:, 1]) / (40 / 6)).astype(int) + 1
        covered = (np.abs(local) < 28).all(1)
        light = np.where(cells[np.clip(row, 0, 7), np.clip(column, 0, 7)] > 127, white, black)
        return np.where(covered, light, np.nan)

    return paint


def disc_paint(x: float, y: float, radius: float, light: float, stretch: float = 1.0) -> Paint:
    """A round hole or chip; `stretch` makes it that much longer along x."""

    def paint(points: np.ndarray) -> np.ndarray:
        away = np.hypot((points[:, 0] - x) / stretch, points[:, 1] - y)
        return np.where(away < radius, light, np.nan)

    return paint


def ribbon_paint(path_mm: np.ndarray, width_mm: float, light: float) -> Paint:
    """A crack: everything within half its width of a path (K, 2)."""
    path = np.asarray(path_mm, float)

    def paint(points: np.ndarray) -> np.ndarray:
        away = np.full(len(points), np.inf)
        for a, b in pairwise(path):
            run = b - a
            t = np.clip((points - a) @ run / (run @ run), 0, 1)
            away = np.minimum(away, np.hypot(*(points - a - t[:, None] * run).T))
        return np.where(away < width_mm / 2, light, np.nan)

    return paint


def bench_points(camera: Camera, pixels: np.ndarray, height: float = 0.0) -> np.ndarray:
    """Bench points (N, 2) mm at `height` that pixels (N, 2) show (fixed-point undistortion)."""
    offset = pixels - (camera.width / 2 + camera.offset[0], camera.height / 2 + camera.offset[1])
    corner = np.hypot(camera.width / 2, camera.height / 2)
    straight = offset.copy()
    for _ in range(12):
        rho2 = (straight**2).sum(1, keepdims=True) / corner**2
        straight = offset / (1 + camera.k1 * rho2 + camera.k2 * rho2**2)
    rays = np.column_stack([straight / camera.focal, np.ones(len(straight))]) @ camera.axes
    reach = (height - camera.eye[2]) / rays[:, 2]
    return (camera.eye + reach[:, None] * rays)[:, :2]


@dataclass(frozen=True)
class Scene:
    """pixels : sRGB uint8 (H, W, 3)"""

    camera: Camera
    pixels: np.ndarray


def photo(
    camera: Camera,
    paints: Sequence[tuple[Paint, np.ndarray]],
    ground: float = 0.25,
    blur: float = 0.8,
    noise: float = 2.0,
    seed: int = 0,
    grain: float = 0.0,
    sharpen: float = 0.0,
    height: float = 0.0,
) -> Scene:
    """Photograph paints on the bench; each comes with bench points (K, 2) whose box holds all of it."""
    rng = np.random.default_rng(seed)
    light = np.full((camera.height, camera.width), ground, np.float32)
    if grain:
        streaks = cv2.GaussianBlur(rng.standard_normal(light.shape).astype(np.float32), (0, 0), sigmaX=25, sigmaY=1.2)
        light *= 1 + grain * streaks / streaks.std()
    for paint, extent in paints:
        _apply(light, camera, paint, extent, height)
    if blur:
        light = cv2.GaussianBlur(light, (0, 0), blur)
    code = np.where(light <= 0.0031308, 12.92 * light, 1.055 * np.clip(light, 0, None) ** (1 / 2.4) - 0.055) * 255
    if sharpen:
        code = code + sharpen * (code - cv2.GaussianBlur(code, (0, 0), 1.2))
    rgb = (
        np.repeat(code[..., None], 3, 2) + rng.normal(0, noise, (*code.shape, 3))
        if noise
        else np.repeat(code[..., None], 3, 2)
    )
    return Scene(camera, np.clip(np.rint(rgb), 0, 255).astype(np.uint8))


def _apply(light: np.ndarray, camera: Camera, paint: Paint, extent: np.ndarray, height: float) -> None:
    corners = camera.shoot(np.column_stack([extent, np.full(len(extent), height)]))
    x0, y0 = np.clip(np.floor(corners.min(0)).astype(int) - 3, 0, (camera.width, camera.height))
    x1, y1 = np.clip(np.ceil(corners.max(0)).astype(int) + 3, 0, (camera.width, camera.height))
    if x1 <= x0 or y1 <= y0:
        return
    corner = np.stack(np.meshgrid(np.arange(x0, x1 + 1), np.arange(y0, y1 + 1)), -1).astype(float)
    bench = bench_points(camera, corner.reshape(-1, 2), height).reshape(corner.shape)
    for top in range(y0, y1, 64):
        bottom = min(top + 64, y1)
        piece_mm = _finer(_finer(bench[top - y0 : bottom - y0 + 1], 0), 1)
        drawn = paint(piece_mm.reshape(-1, 2)).reshape(bottom - top, FINE, x1 - x0, FINE)
        share = np.isfinite(drawn).mean((1, 3))
        mean = np.nansum(drawn, (1, 3)) / np.maximum(np.isfinite(drawn).sum((1, 3)), 1)
        piece = light[top:bottom, x0:x1]
        piece[:] = piece * (1 - share) + mean * share


def _finer(corners: np.ndarray, axis: int) -> np.ndarray:
    """Middles of FINE parts of every step along an axis, by linear interpolation (exact to 1e-5 px over one pixel)."""
    first, second = (
        np.take(corners, range(corners.shape[axis] - 1), axis),
        np.take(corners, range(1, corners.shape[axis]), axis),
    )
    fine = (np.arange(FINE) + 0.5) / FINE
    shape = [1] * (corners.ndim + 1)
    shape[axis + 1] = FINE
    between = np.expand_dims(first, axis + 1) + np.expand_dims(second - first, axis + 1) * fine.reshape(shape)
    merged = list(first.shape)
    merged[axis] *= FINE
    return between.reshape(merged)


def with_cards(places: Sequence[tuple[int, float, float, float]], **ink: float) -> list[tuple[Paint, np.ndarray]]:
    """Cards as paints: (id, x, y, turn) each."""
    square = np.array([(-28.0, -28.0), (28.0, -28.0), (28.0, 28.0), (-28.0, 28.0)]) * 1.42
    return [(card_paint(i, x, y, turn, **ink), square + np.array([x, y])) for i, x, y, turn in places]

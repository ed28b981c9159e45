"""Photographs of round holes whose centres and diameters are known, because they were drawn in linear light.

Ground: streaked wood or rough surface. Holes are a few per cent out of round, their floor is lit from one side, some
have a paler worn rim; patches of glare lie over the picture; lens blur, sensor noise, the sRGB curve and JPEG come
after.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from scipy.ndimage import gaussian_filter

from tests.imaging.crack_set import develop, grain

OVERSAMPLING = 4


@dataclass(frozen=True)
class HolePhoto:
    """rgb: uint8 (H, W, 3); holes: (N, 3) of x, y, radius in upright pixels."""

    name: str
    rgb: np.ndarray
    holes: np.ndarray


def hole_photo(
    ground: str,
    seed: int,
    radii_px: tuple[float, float],
    *,
    count: int = 10,
    side: int | None = None,
    glare: bool = True,
    light: bool = False,
) -> HolePhoto:
    rng = np.random.default_rng([seed, len(ground), int(10 * radii_px[0])])
    side = side or int(max(220, 14 * radii_px[1]))
    if ground == "wood":
        surface = grain(rng, side)
    else:
        fine = gaussian_filter(rng.normal(size=(side, side)), 1.2)
        broad = gaussian_filter(rng.normal(size=(side, side)), 6)
        surface = 0.35 * np.exp(fine / fine.std() * 0.10 + broad / broad.std() * 0.10)
    holes = _places(rng, side, radii_px, count)
    for x, y, radius in holes:
        _bore(surface, rng, x, y, radius, light)
    if glare:
        rows, columns = np.mgrid[0:side, 0:side]
        for _ in range(3):
            cx, cy = rng.uniform(0, side, 2)
            wide, high = rng.uniform(0.03, 0.12, 2) * side
            bump = np.exp(-0.5 * (((columns - cx) / wide) ** 2 + ((rows - cy) / high) ** 2))
            surface += rng.uniform(0.2, 0.6) * bump
    tint = np.array([1.0, 0.78, 0.55]) if ground == "wood" else np.array([0.9, 1.0, 0.95])
    linear = np.clip(surface[..., None] * tint, 0, 1)
    rgb = develop(linear, rng, rng.uniform(0.7, 1.5), rng.uniform(0.004, 0.012), 92)
    return HolePhoto(f"{ground} {radii_px[0]:g}-{radii_px[1]:g} {seed}", rgb, holes)


def _places(rng: np.random.Generator, side: int, radii_px: tuple[float, float], count: int) -> np.ndarray:
    placed: list[tuple[float, float, float]] = []
    for _ in range(400 if count else 0):
        radius = float(np.exp(rng.uniform(*np.log(radii_px))))
        room = radius * 1.4 + 6
        x, y = rng.uniform(room, side - room, 2)
        if all(np.hypot(x - a, y - b) > 1.5 * (radius + r) + 8 for a, b, r in placed):
            placed.append((float(x), float(y), radius))
        if len(placed) == count:
            break
    return np.array(placed).reshape(-1, 3)


def _bore(surface: np.ndarray, rng: np.random.Generator, x: float, y: float, radius: float, light: bool) -> None:
    """Cut one hole (or lay one bright disc) into a linear-light surface, in place, with area-true edges."""
    reach = int(radius * 1.4 + 4)
    left, top = int(x) - reach, int(y) - reach
    size = 2 * reach + 1
    at = (np.arange(size * OVERSAMPLING) + 0.5) / OVERSAMPLING
    across, down = np.meshgrid(left + at - x, top + at - y)
    angle, phase, lit_from = np.arctan2(down, across), *rng.uniform(0, 2 * np.pi, 2)
    uneven = rng.uniform(0.01, 0.02)
    edge = radius * (1 + uneven * np.cos(2 * angle + phase) + 0.4 * uneven * np.cos(3 * angle + 2 * phase))
    distance = np.hypot(across, down)
    inside = _shrunk(distance <= edge, size)
    floor = rng.uniform(0.1, 0.45)
    lit = 1 + 0.35 * _shrunk((across * np.cos(lit_from) + down * np.sin(lit_from)) / radius, size)
    part = surface[top : top + size, left : left + size]
    if rng.random() < 0.3 and radius > 4:
        rim = _shrunk((distance > edge) & (distance <= edge * 1.12), size)
        part *= 1 + 0.35 * rim
    level = float(np.median(part))
    below = level * (rng.uniform(1.8, 2.6) if light else floor) * lit
    part += inside * (below + 0.1 * (part - level) - part)


def _shrunk(values: np.ndarray, size: int) -> np.ndarray:
    return values.astype(float).reshape(size, OVERSAMPLING, size, OVERSAMPLING).mean(axis=(1, 3))


def matched(found: np.ndarray, truth: np.ndarray) -> list[tuple[int, int]]:
    """Pairs (found, true), each used once, whose centres lie within max(1.5 px, 0.35 radius), nearest first."""
    pairs = sorted(
        (float(np.hypot(f[0] - t[0], f[1] - t[1])), i, j)
        for i, f in enumerate(found)
        for j, t in enumerate(truth)
        if np.hypot(f[0] - t[0], f[1] - t[1]) <= max(1.5, 0.35 * t[2]) and 0.6 < f[2] / t[2] < 1.6
    )
    used_found, used_true, kept = set(), set(), []
    for _, i, j in pairs:
        if i not in used_found and j not in used_true:
            used_found.add(i)
            used_true.add(j)
            kept.append((i, j))
    return kept


def contact_sheet(photos: list[HolePhoto], side: int = 300) -> np.ndarray:
    """The photos beside each other, each ``side`` px wide, for looking at."""
    return np.hstack([cv2.resize(photo.rgb, (side, side), interpolation=cv2.INTER_AREA) for photo in photos])

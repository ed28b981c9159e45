"""Photographs of one-coloured regions with pixel masks.

Two sorts: the 24 coins of scikit-image's ``coins`` photo, with the masks that the package's own tutorial on
region-based segmentation computes (watershed of the Sobel gradient from two grey levels); and finish losses composed
from real textures that the package carries, their outline fractal or the package's ``horse`` silhouette, with soft
edges, uneven light, noise and JPEG.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import cv2
import numpy as np
from scipy import ndimage
from scipy.ndimage import gaussian_filter
from skimage import data, filters, segmentation

from tests.imaging.crack_set import develop, grain

SIDE = 520
FINISHES = ((0.30, 0.05, 0.04), (0.02, 0.10, 0.16), (0.40, 0.20, 0.03), (0.05, 0.05, 0.05), (0.55, 0.50, 0.38))
BARE = ((0.42, 0.30, 0.17), (0.30, 0.20, 0.11), (0.50, 0.42, 0.30))


@dataclass(frozen=True)
class RegionPhoto:
    """rgb: uint8 (H, W, 3); mask: bool (H, W)."""

    name: str
    rgb: np.ndarray
    mask: np.ndarray

    @property
    def deepest(self) -> tuple[float, float]:
        """The point farthest from the region's edge, x, y in upright pixels."""
        depth = cv2.distanceTransform(np.pad(self.mask, 1).astype(np.uint8), cv2.DIST_L2, 5)[1:-1, 1:-1]
        row, column = np.unravel_index(int(np.argmax(depth)), depth.shape)
        return float(column) + 0.5, float(row) + 0.5


@cache
def coins() -> list[RegionPhoto]:
    picture = data.coins()
    markers = np.zeros_like(picture)
    markers[picture < 30], markers[picture > 150] = 1, 2
    parts = ndimage.binary_fill_holes(segmentation.watershed(filters.sobel(picture), markers) == 2)
    labels, count = ndimage.label(parts)
    rgb = np.repeat(picture[..., None], 3, axis=2)
    return [
        RegionPhoto(f"coin {label}", rgb, labels == label)
        for label in range(1, count + 1)
        if (labels == label).sum() > 500
    ]


def _outline(rng: np.random.Generator) -> np.ndarray:
    """A signed field, positive inside, of a fractal blob or the horse, px to the edge roughly."""
    if rng.random() < 0.25:
        horse = ~data.horse()
        shape = cv2.resize(horse.astype(np.uint8), (400, 328), interpolation=cv2.INTER_NEAREST)
        mask = np.zeros((SIDE, SIDE), np.uint8)
        mask[100:428, 60:460] = shape
    else:
        angle = np.linspace(0, 2 * np.pi, 720, endpoint=False)
        waves = np.arange(2, 40)
        swing = rng.normal(size=waves.size) / waves**1.3
        radius = rng.uniform(80, 150) * np.exp(
            0.35 * (np.sin(np.outer(angle, waves) + rng.uniform(0, 7, waves.size)) @ swing)
        )
        ring = SIDE / 2 + np.stack([radius * np.cos(angle) * rng.uniform(0.8, 1.3), radius * np.sin(angle)], axis=1)
        mask = np.zeros((SIDE, SIDE), np.uint8)
        cv2.fillPoly(mask, [np.int32(ring * 16)], 1, shift=4)
    inside, outside = (cv2.distanceTransform(part, cv2.DIST_L2, 5) for part in (mask, 1 - mask))
    return inside - outside


def _texture(rng: np.random.Generator, kind: str) -> np.ndarray:
    """Relative brightness, mean 1, shape (SIDE, SIDE)."""
    if kind == "grain":
        value = grain(rng, SIDE)
    else:
        picture = cv2.resize(getattr(data, kind)(), (SIDE, SIDE), interpolation=cv2.INTER_AREA) / 255.0 + 0.02
        value = np.exp(np.log(picture) * min(1, 0.12 / np.log(picture).std()))
    return value / value.mean()


def worn_finish(seed: int) -> RegionPhoto:
    rng = np.random.default_rng([7, seed])
    field = _outline(rng)
    soft = rng.uniform(0.5, 2.5)
    cover = 1 / (1 + np.exp(np.clip(-field / soft * 1.7, -50, 50)))[..., None]
    bare = np.array(BARE[rng.integers(len(BARE))]) * _texture(rng, rng.choice(["grain", "gravel"]))[..., None]
    colour = np.array(FINISHES[rng.integers(len(FINISHES))])
    if np.abs(np.log(colour / BARE[0])).max() < 0.5:
        colour = np.array(FINISHES[0])
    finish = colour * _texture(rng, rng.choice(["grass", "grain", "brick"]))[..., None]
    if rng.random() < 0.3:
        bare, finish = finish, bare
    rows, columns = np.mgrid[0:SIDE, 0:SIDE] / SIDE - 0.5
    light = np.exp(rng.uniform(-0.6, 0.6) * rows + rng.uniform(-0.6, 0.6) * columns)[..., None]
    spots = gaussian_filter(rng.normal(size=(SIDE, SIDE)), 40)
    light = light * np.exp(0.1 * spots / spots.std())[..., None]
    linear = np.clip(light * (cover * bare + (1 - cover) * finish), 0, 1)
    return RegionPhoto(f"worn finish {seed}", develop(linear, rng, rng.uniform(0.6, 1.2), 0.012, 90), field > 0)


def rough_loop(photo: RegionPhoto, seed: int = 0) -> tuple[tuple[float, float], ...]:
    """A hand-drawn loop round the region, about a fifth of its breadth outside the edge, wobbly."""
    rng = np.random.default_rng([11, seed])
    rows, columns = np.nonzero(photo.mask)
    middle = np.array([columns.mean(), rows.mean()]) + 0.5
    hull = cv2.convexHull(np.stack([columns, rows], axis=1).astype(np.int32)).reshape(-1, 2) + 0.5
    angle = np.arctan2(*(hull - middle).T[::-1])
    order = np.argsort(angle)
    at = np.linspace(-np.pi, np.pi, 60, endpoint=False)
    radius = np.interp(at, angle[order], np.hypot(*(hull - middle)[order].T), period=2 * np.pi)
    wobble = sum(np.sin(k * at + rng.uniform(0, 7)) * rng.normal() * 0.05 / k for k in (1, 2, 3, 5))
    radius = radius * (1.22 + wobble)
    loop = middle + radius[:, None] * np.stack([np.cos(at), np.sin(at)], axis=1)
    height, width = photo.mask.shape
    return tuple((float(x), float(y)) for x, y in np.clip(loop, 1, [width - 1, height - 1]))


def painted(shape: tuple[int, int], loops: tuple[tuple[tuple[float, float], ...], ...]) -> np.ndarray:
    """The mask of pixels whose centre lies inside the first loop and outside the others."""
    fine = np.zeros((shape[0] * 4, shape[1] * 4), np.uint8)
    cv2.fillPoly(fine, [np.int32(np.round((np.array(loop) * 4 - 0.5) * 16)) for loop in loops], 1, shift=4)
    return cv2.resize(fine.astype(np.float32), shape[::-1], interpolation=cv2.INTER_AREA) > 0.5


def overlap(found: np.ndarray, truth: np.ndarray) -> float:
    """Intersection over union of two masks."""
    return float((found & truth).sum() / max(1, (found | truth).sum()))

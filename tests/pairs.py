"""Two photographs of one thing with a known map between them, and known changes, made from the photographs that
scikit-image carries in its wheel (``skimage.data``, public domain or CC0)."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from condition.imaging.colour import ciede2000


def photograph(name: str) -> np.ndarray:
    """One of the colour photographs of ``skimage.data``, uint8 (H, W, 3)."""
    from skimage import data

    return np.ascontiguousarray(getattr(data, name)()[..., :3])


def pose(width: int, height: int, roll: float, tilt: float, scale: float, towards: float = 40.0) -> np.ndarray:
    """Homography (3, 3) of a camera that moved round the middle: degrees, and how much larger it shows things.

    Pixel corners count as in the program: the middle of the first pixel is (0.5, 0.5).
    """
    focal = 1.2 * max(width, height)
    a = np.radians(towards)
    lean, _ = cv2.Rodrigues(np.radians(tilt) * np.array([np.cos(a), np.sin(a), 0.0]))
    turn, _ = cv2.Rodrigues(np.array([0.0, 0.0, np.radians(roll)]))
    rotation = turn @ lean
    camera = np.array([[focal, 0, width / 2], [0, focal, height / 2], [0, 0, 1]])
    flat = np.array([[1 / focal, 0, -width / 2 / focal], [0, 1 / focal, -height / 2 / focal], [0, 0, 1]])
    homography = camera @ np.column_stack([rotation[:, 0], rotation[:, 1], [0, 0, 1 / scale]]) @ flat
    return homography / homography[2, 2]


def seen_through(rgb: np.ndarray, homography: np.ndarray) -> np.ndarray:
    """The photograph as the moved camera sees it, same size, mirrored beyond its border."""
    half = np.array([[1, 0, -0.5], [0, 1, -0.5], [0, 0, 1.0]])
    return cv2.warpPerspective(
        rgb,
        half @ homography @ np.linalg.inv(half),
        rgb.shape[1::-1],
        flags=cv2.INTER_CUBIC,
        borderMode=cv2.BORDER_REFLECT,
    )


def taken_anew(
    rgb: np.ndarray, homography: np.ndarray, seed: int, exposure: float = 0.15, glare: int = 0
) -> np.ndarray:
    """Another photo: moved, blurred 0.7 px, another exposure, white balance and tone curve, noise, JPEG 90."""
    rng = np.random.default_rng(seed)
    light = cv2.GaussianBlur(seen_through(rgb, homography), (0, 0), 0.7) / 255.0
    light = light ** (1 + rng.uniform(-0.06, 0.06)) * (1 + rng.uniform(-exposure, exposure))
    light = light * (1 + rng.uniform(-0.08, 0.08, 3) * (1, 0, 1))
    rows, columns = np.mgrid[: rgb.shape[0], : rgb.shape[1]]
    for _ in range(glare):
        x, y = rng.uniform(0.2, 0.8, 2) * rgb.shape[1::-1]
        spread = rng.uniform(0.02, 0.05) * max(rgb.shape)
        spot = rng.uniform(0.3, 0.7) * np.exp(-((columns - x) ** 2 + (rows - y) ** 2) / (2 * spread**2))
        light = light + spot[..., None]
    level = np.clip(255 * light + rng.normal(0, 2, rgb.shape), 0, 255).astype(np.uint8)
    _, data = cv2.imencode(".jpg", level[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, 90])
    return np.ascontiguousarray(cv2.imdecode(data, cv2.IMREAD_COLOR)[..., ::-1])


@dataclass(frozen=True)
class Disc:
    """A planted change: middle and diameter in px, CIEDE2000 from what was there."""

    x: float
    y: float
    diameter: float
    delta_e: float


DIAMETERS, DELTAS = (5, 8, 12, 20, 40), (3, 6, 12, 25)


def planted(rgb: np.ndarray, seed: int, repeats: int = 1, margin: float = 0.15) -> tuple[np.ndarray, list[Disc]]:
    """Colour discs of every diameter and colour difference, apart from each other, off what is burnt out or black."""
    rng = np.random.default_rng(seed)
    height, width = rgb.shape[:2]
    lab = cv2.cvtColor(rgb.astype(np.float32) / 255, cv2.COLOR_RGB2LAB)
    rows, columns = np.mgrid[:height, :width] + 0.5
    discs: list[Disc] = []
    for diameter in sorted(DIAMETERS * repeats, reverse=True):
        for delta_e in DELTAS:
            for _ in range(300):
                x, y = rng.uniform(margin, 1 - margin, 2) * (width, height)
                cover = np.clip(diameter / 2 + 0.5 - np.hypot(columns - x, rows - y), 0, 1)[..., None]
                under = rgb[cover[..., 0] > 0.5]
                apart = all(np.hypot(x - d.x, y - d.y) > (diameter + d.diameter) / 2 + 16 for d in discs)
                if apart and (under.max(1) < 235).all() and np.median(under) > 25:
                    lab = lab + cover * _offset(np.median(lab[cover[..., 0] > 0.5], axis=0), delta_e, rng)
                    discs.append(Disc(x, y, diameter, delta_e))
                    break
    changed = cv2.cvtColor(lab.astype(np.float32), cv2.COLOR_LAB2RGB)
    return (np.clip(changed, 0, 1) * 255).round().astype(np.uint8), discs


def _offset(colour: np.ndarray, delta_e: float, rng: np.random.Generator) -> np.ndarray:
    """A step in a random direction of L*a*b*, towards the middle of the lightness, of that colour difference."""
    way = rng.normal(size=3)
    way /= np.linalg.norm(way)
    if (colour[0] > 50) == (way[0] > 0):
        way = -way
    colour, length = colour.astype(float), float(delta_e)
    for _ in range(20):
        length *= delta_e / max(float(ciede2000(colour[None], (colour + length * way)[None])[0]), 1e-3)
    return length * way


def with_disc(rgb, x, y, radius, colour):
    """The photo with a disc of one colour planted in it, its edge covering part pixels in proportion."""
    rows, columns = np.mgrid[: rgb.shape[0], : rgb.shape[1]] + 0.5
    cover = np.clip(radius + 0.5 - np.hypot(columns - x, rows - y), 0, 1)[..., None]
    return (rgb * (1 - cover) + np.array(colour) * cover).round().astype(np.uint8)

"""Photographs of cracks whose centreline is known to the pixel, because they were drawn into real textures.

The ground is one of the textures that the scikit-image package carries (brick, grass, gravel, the table of coffee) or
streaked grain or speckle drawn here; the crack wanders like a fractional Brownian path, widens, fades, branches and is
crossed by others; lens blur, sensor noise and JPEG come after it.

A crack fades where its depth does, and where it has faded into the ground no one can say which way it goes.
:func:`seen_throughout` tells the cracks whose course between their ends is a fact of the picture from those whose is
not; it knows the true centreline and nothing of any way to follow it.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from scipy.ndimage import gaussian_filter, gaussian_filter1d
from scipy.spatial import cKDTree
from skimage import data

SIDE = 420
BUSIEST = 0.3
"""Standard deviation of the natural logarithm of luminance to which busier grounds are softened: busy wood."""
GROUNDS = ("brick", "grass", "gravel", "table", "grain", "speckle")


@dataclass(frozen=True, eq=False)
class CrackPhoto:
    """rgb: uint8 (H, W, 3); centreline: (N, 2) of x, y in upright pixels, first to last; width_px: its mean width."""

    name: str
    rgb: np.ndarray
    centreline: np.ndarray
    width_px: float
    light: bool

    @property
    def ends(self) -> tuple[tuple[float, float], tuple[float, float]]:
        return tuple(self.centreline[0]), tuple(self.centreline[-1])


def grain(rng: np.random.Generator, side: int) -> np.ndarray:
    """Linear-light streaks along x, float 0..1, shape (side, side), busy like open-pored wood."""
    fine = gaussian_filter(rng.normal(size=(side, side)), (0.9, 18))
    broad = gaussian_filter(rng.normal(size=(side, side)), (5, 90))
    pores = gaussian_filter((rng.random((side, side)) < 0.004).astype(float), (0.7, 4))
    value = fine / fine.std() * 0.13 + broad / broad.std() * 0.12 - pores / pores.max() * 0.5
    return 0.35 * np.exp(value)


def ground(name: str, rng: np.random.Generator, side: int = SIDE) -> np.ndarray:
    """Linear-light RGB, float 0..1, shape (side, side, 3)."""
    if name == "grain":
        tint = np.array([1.0, 0.72, 0.45])
        return np.clip(grain(rng, side)[..., None] * tint, 0, 1)
    if name == "speckle":
        fine = gaussian_filter(rng.normal(size=(side, side)), 1.0)
        broad = gaussian_filter(rng.normal(size=(side, side)), 25)
        return np.repeat(0.2 * np.exp(fine / fine.std() * 0.25 + broad / broad.std() * 0.15)[..., None], 3, axis=2)
    if name == "table":
        picture = data.coffee()[:, :160]
        picture = cv2.resize(picture, None, fx=2.8, fy=1.4, interpolation=cv2.INTER_CUBIC)
    else:
        picture = np.repeat(getattr(data, name)()[..., None], 3, axis=2)
    top, left = (int(rng.integers(0, extent - side + 1)) for extent in picture.shape[:2])
    coded = picture[top : top + side, left : left + side] / 255.0
    if rng.random() < 0.5:
        coded = np.ascontiguousarray(coded[::-1].transpose(1, 0, 2))
    linear = np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)
    contrast = float(np.std(np.log(linear + 0.02)))
    return np.exp(np.log(linear + 0.02).mean() * (1 - (share := min(1, BUSIEST / contrast)))) * (linear + 0.02) ** share


def wander(
    rng: np.random.Generator, start: np.ndarray, end: np.ndarray, swing: float, smoothness: float = 1.6
) -> np.ndarray:
    """A path of x, y every quarter pixel from start to end whose sideways spectrum falls as frequency^-smoothness."""
    chord = end - start
    length = float(np.hypot(*chord))
    count = int(length * 4)
    frequency = np.arange(1, count // 32)
    phases = rng.uniform(0, 2 * np.pi, frequency.size)
    t = np.linspace(0, 1, count)
    sideways = (np.sin(np.outer(t, frequency * np.pi) + phases) / frequency**smoothness).sum(axis=1)
    sideways -= np.interp(t, [0, 1], [sideways[0], sideways[-1]])
    sideways *= swing * length / np.abs(sideways).max()
    normal = np.array([-chord[1], chord[0]]) / length
    return start + t[:, None] * chord + sideways[:, None] * normal


def carve(linear: np.ndarray, path: np.ndarray, widths: np.ndarray, depths: np.ndarray) -> None:
    """Multiply a linear-light picture by exp(depth) within a stroke of the given widths, in place."""
    side = linear.shape[0]
    rows, columns = np.mgrid[0:side, 0:side] + 0.5
    distance, nearest = cKDTree(path).query(np.stack([columns.ravel(), rows.ravel()], axis=1), distance_upper_bound=12)
    reached = np.isfinite(distance)
    cover = np.clip(widths[nearest[reached]] / 2 - distance[reached] + 0.5, 0, 1) * np.minimum(
        1, widths[nearest[reached]]
    )
    flat = linear.reshape(-1, 3)
    factor = np.exp(depths[nearest[reached]])
    flat[reached] = np.minimum(1, flat[reached] * (1 + cover * (factor - 1))[:, None])


def develop(linear: np.ndarray, rng: np.random.Generator, blur_px: float, noise: float, quality: int) -> np.ndarray:
    """Blur and sensor noise in linear light, the sRGB curve, 8 bits, JPEG."""
    blurred = cv2.GaussianBlur(linear, (0, 0), blur_px)
    noisy = np.clip(blurred + rng.normal(size=blurred.shape) * noise * np.sqrt(blurred + 0.02), 0, 1)
    coded = np.where(noisy <= 0.0031308, noisy * 12.92, 1.055 * noisy ** (1 / 2.4) - 0.055)
    _, packed = cv2.imencode(".jpg", np.uint8(np.round(coded * 255))[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, quality])
    return cv2.imdecode(packed, cv2.IMREAD_COLOR)[..., ::-1].copy()


def crack_photo(name: str, seed: int, *, light: bool = False, branched: bool = False) -> CrackPhoto:
    rng = np.random.default_rng([seed, GROUNDS.index(name), light, branched])
    linear = ground(name, rng)
    texture = float(np.std(np.log(gaussian_filter(linear.mean(axis=2), 1) + 0.02)))
    angle = rng.uniform(0, np.pi)
    reach = rng.uniform(0.33, 0.42) * SIDE
    middle = np.full(2, SIDE / 2)
    away = reach * np.array([np.cos(angle), np.sin(angle)])
    path = wander(rng, middle - away, middle + away, rng.uniform(0.05, 0.11), rng.uniform(1.3, 1.9))
    width = rng.uniform(1.2, 4.0)
    depth = min(1.6, max(0.5, texture * rng.uniform(2.0, 4.0)))

    def stroke(along: np.ndarray, wide: float, deep: float) -> None:
        smooth = gaussian_filter1d(rng.normal(size=len(along)), 60, mode="nearest")
        widths = wide * np.exp(0.3 * smooth / max(smooth.std(), 1e-9))
        fade = gaussian_filter1d(rng.normal(size=len(along)), 90, mode="nearest")
        depths = deep * np.clip(1 - 0.25 * np.abs(fade / max(fade.std(), 1e-9)), 0.25, 1)
        carve(linear, along, widths, depths if light else -depths)

    if branched:
        for _ in range(2):
            root = path[int(len(path) * rng.uniform(0.2, 0.8))]
            turn = angle + rng.choice([-1, 1]) * rng.uniform(0.5, 1.2)
            tip = root + rng.uniform(50, 110) * np.array([np.cos(turn), np.sin(turn)])
            stroke(wander(rng, root, tip, 0.08), width * rng.uniform(0.5, 0.9), depth * rng.uniform(0.6, 1))
    stroke(path, width, depth)
    rgb = develop(linear, rng, rng.uniform(0.6, 1.1), rng.uniform(0.008, 0.03), 90)
    return CrackPhoto(f"{name} {seed}", rgb, path, width, light)


STRETCH_PX, SHIFTS_PX = 40, (-24, -20, -16, -12, 12, 16, 20, 24)
LEAST_SEEN_SD = 2.0


def seen_throughout(photo: CrackPhoto) -> bool:
    """Whether every 40 px of the true centreline stand out from the ground.

    The lightness along the line less that of its two flanks, in the mean of each stretch, must be at least two standard
    deviations of the same figure read along copies of the line moved 12 to 24 px sideways.
    """
    lightness = cv2.GaussianBlur(
        cv2.cvtColor(photo.rgb.astype(np.float32) / 255, cv2.COLOR_RGB2LAB)[..., 0], (0, 0), 0.7
    )
    points = along(photo.centreline)
    ahead = np.gradient(gaussian_filter1d(points, 4, axis=0), axis=0)
    ahead /= np.hypot(*ahead.T)[:, None]
    sideways = np.stack([-ahead[:, 1], ahead[:, 0]], axis=1)
    half = photo.width_px / 2

    def lightness_at(offsets: np.ndarray) -> np.ndarray:
        at = (points[None] + sideways[None] * offsets[:, None, None] - 0.5).astype(np.float32)
        return cv2.remap(lightness, at[..., 0], at[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT).mean(
            axis=0
        )

    def stretches(shift: float) -> np.ndarray:
        flanks = lightness_at(shift + np.array([half + 1.5, half + 3, -half - 1.5, -half - 3]))
        below = flanks - lightness_at(shift + np.linspace(-0.6, 0.6, 3) * half)
        groups = np.array_split(-below if photo.light else below, max(1, len(points) // STRETCH_PX))
        return np.array([group.mean() for group in groups])

    ground = np.concatenate([stretches(shift) for shift in SHIFTS_PX]).std()
    return bool(stretches(0).min() >= LEAST_SEEN_SD * ground)


def crack_photos(per_ground: int, **kinds: bool) -> list[CrackPhoto]:
    return [crack_photo(name, seed, **kinds) for name in GROUNDS for seed in range(per_ground)]


def along(points: np.ndarray, step: float = 1.0) -> np.ndarray:
    """The path with a vertex every ``step`` px."""
    lengths = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    at = np.arange(0, lengths[-1], step)
    return np.stack([np.interp(at, lengths, points[:, axis]) for axis in (0, 1)], axis=1)


def share_within(path: np.ndarray, truth: np.ndarray, limit_px: float) -> float:
    """Share of the followed path, vertex by pixel, that lies within ``limit_px`` of the true centreline."""
    distance, _ = cKDTree(along(truth, 0.25)).query(along(path))
    return float(np.mean(distance <= limit_px))


def length_of(points: np.ndarray) -> float:
    return float(np.hypot(*np.diff(points, axis=0).T).sum())

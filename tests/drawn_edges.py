"""Discs, ribbons and regions of known size, developed as a camera does it: light, blur, sRGB code, noise."""

from __future__ import annotations

import cv2
import numpy as np

FINE = 6


def developed(light: np.ndarray, blur: float, noise: float, seed: int) -> np.ndarray:
    rng = np.random.default_rng(seed)
    light = cv2.GaussianBlur(light, (0, 0), blur)
    code = np.where(light <= 0.0031308, 12.92 * light, 1.055 * np.maximum(light, 1e-9) ** (1 / 2.4) - 0.055) * 255
    return np.clip(np.rint(code[..., None] + rng.normal(0, noise, (*code.shape, 3))), 0, 255).astype(np.uint8)


def covered(size: int, inside) -> np.ndarray:
    """Share of each pixel for which inside(x, y) holds."""
    fine = (np.arange(size * FINE) + 0.5) / FINE
    x, y = np.meshgrid(fine, fine)
    return inside(x, y).reshape(size, FINE, size, FINE).mean((1, 3))


def hole(radius, x, y, blur, inner=0.02, outer=0.3, stretch=1.0, seed=0) -> np.ndarray:
    share = covered(int(2 * radius + 40), lambda a, b: np.hypot((a - x) / stretch, b - y) < radius)
    return developed(outer + (inner - outer) * share, blur, 2.0, seed)


def crack(width: float, blur: float, angle: float = 0.4, inner: float = 0.05, outer: float = 0.3, seed: int = 0):
    """A straight crack, and a path that follows it like a hand, a pixel off here and there."""
    rng = np.random.default_rng(seed)
    along, across = np.array([np.cos(angle), np.sin(angle)]), np.array([-np.sin(angle), np.cos(angle)])
    off = rng.uniform(-0.5, 0.5)
    share = covered(140, lambda a, b: np.abs((a - 70) * across[0] + (b - 70) * across[1] - off) < width / 2)
    path = 70 + np.linspace(-50, 50, 8)[:, None] * along + (off + rng.normal(0, 1, (8, 1))) * across
    return developed(outer + (inner - outer) * share, blur, 2.0, seed), path

"""The rim of a round hole along rays from its middle, in linear light, and the circle through it."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

ROUNDS = 3
SECTORS = 8


@dataclass(frozen=True, slots=True)
class Rims:
    """What the rays saw of each of N candidates, arrays of shape (N,) unless said.

    x, y, radius : the robust circle, array pixels (corner origin)
    agreement : share of rays whose edge lies within max(0.6, 0.12 r) px of the circle
    weakest_sector, contrast : brightness outside less inside, least of 8 sectors and mean, linear light
    inside, outside : mean brightness just inside and just outside
    edge_sigma_px : blur of the edge, from its own width
    """

    x: np.ndarray
    y: np.ndarray
    radius: np.ndarray
    agreement: np.ndarray
    weakest_sector: np.ndarray
    contrast: np.ndarray
    inside: np.ndarray
    outside: np.ndarray
    edge_sigma_px: np.ndarray


def rims_of(light: np.ndarray, x: np.ndarray, y: np.ndarray, radius: np.ndarray) -> Rims:
    """Fit a circle to the steepest rise of brightness along rays, three rounds, each in a narrower ring.

    Parameters
    ----------
    light : float32, shape (H, W), linear light; its negative for bright discs
    x, y, radius : float, shape (N,), candidates of about equal radius (within a factor of 2), array pixels
    """
    x, y, radius = x.copy(), y.copy(), radius.copy()
    rays = int(np.clip(round(float(np.median(radius)) * 2 / 8) * 8, 24, 128))
    angles = np.arange(rays) * 2 * np.pi / rays
    directions = np.stack([np.cos(angles), np.sin(angles)])
    lower, upper = radius * 0.5, radius * 1.5
    for turn in range(ROUNDS):
        reach = (0.45, 0.3, 0.22)[turn]
        slack = np.maximum(1.6, reach * radius)
        ring = _rise(light, x, y, radius, slack, directions)
        at, _ = _steepest(ring, radius, slack)
        shift_x, shift_y, fitted, near = _circle(at, directions, radius)
        limit = 0.5 * slack
        x += np.clip(shift_x, -limit, limit)
        y += np.clip(shift_y, -limit, limit)
        radius = np.clip(fitted, np.maximum(lower, 0.8), upper)
    agreement = near.mean(axis=1)
    inner, outer = _sides(light, x, y, radius, directions)
    by_sector = (outer - inner).reshape(len(x), SECTORS, -1).mean(axis=2)
    sigma = _edge_sigma(light, x, y, radius, directions, shift=at - fitted[:, None], near=near)
    return Rims(
        x,
        y,
        radius,
        agreement,
        by_sector.min(axis=1),
        by_sector.mean(axis=1),
        inner.mean(axis=1),
        outer.mean(axis=1),
        sigma,
    )


def uncurved(radius: np.ndarray, sigma_px: np.ndarray) -> np.ndarray:
    """Return the disc's radius from its steepest one: blurring by sigma draws the steepest rise in by sigma^2 / 2r."""
    return radius + np.minimum(sigma_px, 0.6 * radius) ** 2 / (2 * radius)


def _sample(light: np.ndarray, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    shape = x.shape
    flat_x, flat_y = (values.reshape(len(x), -1).astype(np.float32) - np.float32(0.5) for values in (x, y))
    rows = max(1, 30_000 // max(1, flat_x.shape[1]))
    parts = [
        cv2.remap(light, flat_x[i : i + rows], flat_y[i : i + rows], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        for i in range(0, len(flat_x), rows)
    ]
    return np.concatenate(parts).reshape(shape)


_SAMPLES = 41


def _rise(light, x, y, radius, slack, directions) -> np.ndarray:
    """Return brightness along each ray from radius - slack to radius + slack, shape (N, rays, samples)."""
    along = np.linspace(-1, 1, _SAMPLES)
    distance = np.maximum(radius[:, None] + slack[:, None] * along, 0.0)
    at_x = x[:, None, None] + directions[0][:, None] * distance[:, None, :]
    at_y = y[:, None, None] + directions[1][:, None] * distance[:, None, :]
    return _sample(light, at_x, at_y)


def _steepest(ring: np.ndarray, radius: np.ndarray, slack: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the radius of the steepest rise of each ray, shape (N, rays), by a parabola, and its steepness."""
    step = 2 * slack / (_SAMPLES - 1)
    smooth = np.stack([_along(rays, max(0.6, 0.7 / pace)) for rays, pace in zip(ring, step, strict=True)])
    slope = np.gradient(smooth, axis=2) / step[:, None, None]
    slope[..., 0] = slope[..., -1] = -np.inf
    best = np.argmax(slope, axis=2)
    best = np.clip(best, 2, _SAMPLES - 3)
    before, here, after = (np.take_along_axis(slope, best[..., None] + k, axis=2)[..., 0] for k in (-1, 0, 1))
    bend = before - 2 * here + after
    offset = np.where(bend < 0, 0.5 * (before - after) / np.where(bend < 0, bend, -1), 0)
    at = radius[:, None] + slack[:, None] * ((best + np.clip(offset, -0.5, 0.5)) / (_SAMPLES - 1) * 2 - 1)
    return at, here


def _along(rays: np.ndarray, sigma: float) -> np.ndarray:
    return cv2.GaussianBlur(rays, (0, 0), sigmaX=float(sigma), sigmaY=1e-3, borderType=cv2.BORDER_REPLICATE)


def _circle(at: np.ndarray, directions: np.ndarray, radius: np.ndarray):
    """Fit r + dx cos + dy sin to the rays' radii, shape (N, rays), by least squares reweighted against strays."""
    design = np.stack([directions[0], directions[1], np.ones(directions.shape[1])], axis=1)
    tolerance = np.maximum(0.6, 0.12 * radius)[:, None]
    fit = np.stack([np.zeros(len(at)), np.zeros(len(at)), np.median(at, axis=1)], axis=1)
    for _ in range(6):
        residual = at - fit @ design.T
        weight = np.where(np.abs(residual) < 3 * tolerance, (1 - (residual / (3 * tolerance)) ** 2) ** 2, 1e-6)
        normal = np.einsum("nr,ri,rj->nij", weight, design, design) + 1e-9 * np.eye(3)
        right = np.einsum("nr,ri,nr->ni", weight, design, at)
        fit = np.linalg.solve(normal, right[..., None])[..., 0]
    near = np.abs(at - fit @ design.T) <= tolerance
    return fit[:, 0], fit[:, 1], fit[:, 2], near


def _sides(light, x, y, radius, directions) -> tuple[np.ndarray, np.ndarray]:
    """Return brightness just inside and just outside the rim, shape (N, rays)."""
    gap = np.maximum(0.8, 0.15 * radius)
    sides = []
    for sign in (-1, 1):
        distances = np.maximum(radius[:, None] + sign * gap[:, None] * np.array([1.0, 1.5, 2.0]), 0)
        at_x = x[:, None, None] + directions[0][:, None] * distances[:, None, :]
        at_y = y[:, None, None] + directions[1][:, None] * distances[:, None, :]
        sides.append(_sample(light, at_x, at_y).mean(axis=2))
    return sides[0], sides[1]


def _edge_sigma(light, x, y, radius, directions, *, shift: np.ndarray, near: np.ndarray) -> np.ndarray:
    """Return the blur of each rim: second moment of the slope of the profile averaged over agreeing rays."""
    along = np.linspace(-3, 3, 49)
    distance = np.maximum(radius[:, None, None] + np.clip(shift, -1.5, 1.5)[..., None] + along, 0)
    at_x = x[:, None, None] + directions[0][:, None] * distance
    at_y = y[:, None, None] + directions[1][:, None] * distance
    profile = _sample(light, at_x, at_y)
    weight = near[..., None] + 1e-6
    mean = (profile * weight).sum(axis=1) / weight.sum(axis=1)
    slope = np.maximum(np.gradient(mean, along, axis=1), 0)
    slope -= np.minimum(slope, 0.25 * slope.max(axis=1, keepdims=True))
    total = slope.sum(axis=1) + 1e-12
    centre = (slope * along).sum(axis=1) / total
    spread = np.sqrt(np.maximum((slope * (along - centre[:, None]) ** 2).sum(axis=1) / total, 1e-6))
    return np.clip(spread * 1.25, 0.3, 2.5)

"""What any estimator could at best make of a length in a simulated bench photo: the Cramér-Rao bound.

Worked out from the generator's own camera and what is known of it beforehand, apart from the program: information of
the corners and of the priors, inverted and carried to the length (Kay, Estimation Theory, 1993, 3.6 and 3.8: from
memory).
"""

from __future__ import annotations

import numpy as np
from cameras import Camera, card_outline
from trials import CLICK_PX, FIELD_MM, HEIGHT, LENGTH_MM, WIDTH, Conditions, scattered

FOCAL_PRIOR = 0.05
TINY = 1e-6


def _turned(axis: np.ndarray) -> np.ndarray:
    angle = float(np.linalg.norm(axis))
    if angle < 1e-12:
        return np.eye(3)
    x, y, z = axis / angle
    cross = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    return np.eye(3) + np.sin(angle) * cross + (1 - np.cos(angle)) * cross @ cross


_LOOKING_DOWN = np.diag([1.0, -1.0, -1.0])


def _camera(values: np.ndarray) -> Camera:
    """ln f, k1, rotation (3), eye (3)."""
    axes = _LOOKING_DOWN @ _turned(values[2:5])
    return Camera(WIDTH, HEIGHT, float(np.exp(values[0])), values[5:8], axes, k1=float(values[1]))


def _seen(values: np.ndarray, count: int) -> np.ndarray:
    cards = values[8:].reshape(count, 3)
    return np.concatenate([_camera(values).shoot(card_outline(*card)) for card in cards]).ravel()


def _slopes(function, values: np.ndarray, steps: np.ndarray) -> np.ndarray:
    moves = np.diag(steps)
    return np.array([(function(values + m) - function(values - m)) / (2 * m.sum()) for m in moves]).T


def length_standard(
    rng: np.random.Generator, places: list[np.ndarray], focal: float, tilt: float, k1_sd: float, noise_px: float
) -> float | None:
    """Least relative standard error of a clicked length, or None where a card is out of the frame."""
    azimuth, turn, count = rng.uniform(0, 2 * np.pi), rng.uniform(-0.8, 0.8), len(places)
    axis = np.radians(tilt) * np.array([np.cos(azimuth), np.sin(azimuth), 0.0])
    eye = -(_LOOKING_DOWN @ _turned(axis)).T @ np.array([0, 0, focal * FIELD_MM / WIDTH])
    cards = [(*place, rng.uniform(0, 2 * np.pi)) for place in places]
    values = np.concatenate([[np.log(focal), 0.0], axis, eye, np.ravel(cards)])
    corners = _seen(values, count).reshape(-1, 2)
    if (corners < 5).any() or (corners > (WIDTH - 5, HEIGHT - 5)).any():
        return None
    steps = np.array([1e-5, 1e-5, *[1e-6] * 3, *[1e-3] * 3, *[1e-3, 1e-3, 1e-6] * count])
    slopes = _slopes(lambda v: _seen(v, count), values, steps)
    reach = LENGTH_MM / 2 * np.array([np.cos(turn), np.sin(turn)])

    def shown(end: np.ndarray, camera: np.ndarray) -> np.ndarray:
        return _camera(camera).shoot(np.array([[*end, 0.0]]))[0]

    pull, clicks = np.zeros(len(values)), 0.0
    for sign in (-1, 1):
        end = sign * reach
        back = reach / np.linalg.norm(reach) @ np.linalg.inv(_slopes(lambda p: shown(p, values), end, np.full(2, 1e-3)))
        pull -= sign * back @ _slopes(lambda v: shown(end, v), values, steps)  # noqa: B023
        clicks += CLICK_PX**2 * float(back @ back)
    free = np.r_[0 : len(values) - 3]
    information = slopes.T @ slopes / noise_px**2
    information[0, 0] += 1 / FOCAL_PRIOR**2
    information[1, 1] += 1 / max(k1_sd, TINY) ** 2
    information, pull = information[np.ix_(free, free)], pull[free]
    scale = np.sqrt(np.diag(information))
    variance = pull / scale @ np.linalg.solve(information / scale / scale[:, None], pull / scale)
    return float(np.sqrt(variance + clicks)) / LENGTH_MM


def best_p95(wanted: Conditions, photos: int, seed: int) -> float:
    """95th percentile of the relative error over many photos at the bound, errors being normal in each."""
    rng = np.random.default_rng(seed)
    focal, found = WIDTH * wanted.camera_mm / FIELD_MM, []
    while len(found) < photos:
        places = scattered(rng, wanted.cards, wanted.layout)
        standard = length_standard(rng, places, focal, rng.choice(wanted.tilts), wanted.k1_sd, wanted.noise_px)
        if standard is not None:
            found.append(standard)
    return float(np.percentile(np.abs(rng.normal(0, np.repeat(found, 100))), 95))

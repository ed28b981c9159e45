"""Random bench photos by their card corners alone, and what the program makes of a known length in them.

The cameras are those of :mod:`cameras`: they bend with k2 as well, miss the picture's middle, and now and then one card
is bent. The program is told a focal length that is a few percent off, as cameras are.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from cameras import Camera, card_outline, over_bench

from condition.imaging.plane_from_cards import plane_from_cards
from condition.measure.length import distance_between
from condition.measure.way import Way
from condition.records.plane import SizeCard

WIDTH, HEIGHT, FIELD_MM = 4000, 3000, 560.0
CLICK_PX = 0.5
LENGTH_MM = 450.0
STATED_NOISE_PX = 0.3
HEIGHT_SD_MM = 0.5
Layout = Literal["scattered", "corners", "round"]


@dataclass(frozen=True)
class Conditions:
    """noise_px is the corners' true noise, the program is always told STATED_NOISE_PX; k1_sd None: uniform +-0.03;
    tilts : one of these where given, else any of ``tilt``; camera_mm : from the bench, else as the lens asks"""

    cards: int
    noise_px: float
    tilt: tuple[float, float] = (0.0, 25.0)
    height_mm: tuple[float, float] = (0.0, 50.0)
    flat_share: float = 0.3
    k1_sd: float | None = None
    bent_share: float = 0.15
    layout: Layout = "scattered"
    focal_off: float = 0.05
    k2_sd: float = 0.005
    centre_sd_px: float = 25.0
    tilts: tuple[float, ...] = ()
    camera_mm: float | None = None


def published(cards: int, layout: Layout) -> Conditions:
    """The conditions under which the prototype's figures of the methods (3.6) were had: a camera 430 mm away that bends
    with k1 only, tilted 0, 10 or 20 degrees, its focal length 4 % off, cards on the measured surface."""
    return Conditions(
        cards, 0.3, flat_share=1.0, k1_sd=0.01, bent_share=0.0, layout=layout, focal_off=0.04, k2_sd=0.0,
        centre_sd_px=0.0, tilts=(0.0, 10.0, 20.0), camera_mm=430.0,
    )  # fmt: skip


@dataclass(frozen=True)
class Outcome:
    error: float
    expanded: float
    tilt: float
    height: float
    k1: float
    left_out: tuple[int, ...]
    bent: int | None


def scattered(rng: np.random.Generator, count: int, layout: Layout = "scattered") -> list[np.ndarray]:
    """Middles of cards on the bench, not overlapping: anywhere, near the picture's corners, or evenly round its rim."""
    places: list[np.ndarray] = []
    if layout == "corners":
        corners = np.array([(-1, -1), (1, 1), (-1, 1), (1, -1), (0, 1), (0, -1)])[:count]
        return [c * (230, 165) + rng.uniform(-10, 10, 2) for c in corners]
    if layout == "round":
        turns = rng.uniform(0, 2 * np.pi) + np.arange(count) * 2 * np.pi / count
        return [np.array([220 * np.cos(t), 155 * np.sin(t)]) + rng.uniform(-10, 10, 2) for t in turns]
    while len(places) < count:
        place = rng.uniform(-0.5, 0.5, 2) * (FIELD_MM - 60, FIELD_MM * 0.75 - 60)
        if all(np.hypot(*(place - other)) > 65 for other in places):
            places.append(place)
    return places


def staged(rng: np.random.Generator, wanted: Conditions) -> tuple[Camera, list[np.ndarray], int | None, float]:
    """A camera, the cards' corners in px, which card is bent, and the tilt; tried again until all cards are in it."""
    while True:
        focal = WIDTH * (wanted.camera_mm / FIELD_MM if wanted.camera_mm else rng.uniform(0.65, 1.1))
        tilt = float(rng.choice(wanted.tilts)) if wanted.tilts else rng.uniform(*wanted.tilt)
        k1 = rng.uniform(-0.03, 0.03) if wanted.k1_sd is None else rng.normal(0, wanted.k1_sd)
        camera = over_bench(
            tilt, rng.uniform(0, 360), rng.normal(0, 20), focal * FIELD_MM / WIDTH, focal, WIDTH, HEIGHT,
            k1=k1, k2=rng.normal(0, wanted.k2_sd), offset=tuple(rng.normal(0, wanted.centre_sd_px, 2)),
        )  # fmt: skip
        bent = int(rng.integers(wanted.cards)) if wanted.cards >= 4 and rng.random() < wanted.bent_share else None
        outlines = [
            card_outline(*place, rng.uniform(0, 2 * np.pi), bend=4.0 if i == bent else 0.0)
            for i, place in enumerate(scattered(rng, wanted.cards, wanted.layout))
        ]
        corners = [camera.shoot(outline) for outline in outlines]
        if all((px > 5).all() and (px < (WIDTH - 5, HEIGHT - 5)).all() for px in corners):
            return camera, corners, bent, tilt


def measured_length(rng: np.random.Generator, wanted: Conditions) -> Outcome:
    """Photograph, scale, click both ends of 450 mm (less where the surface is nearer), and compare."""
    camera, corners, bent, tilt = staged(rng, wanted)
    height = 0.0 if rng.random() < wanted.flat_share else rng.uniform(*wanted.height_mm)
    turn = rng.uniform(-0.8, 0.8)
    half = LENGTH_MM / 2 * (1 - height / 700)
    middle = np.array([0.0, 0.0, height])
    reach = half * np.array([np.cos(turn), np.sin(turn), 0.0])
    clicks = camera.shoot(np.array([middle - reach, middle + reach])) + rng.normal(0, CLICK_PX, (2, 2))
    cards = [
        SizeCard(i, tuple(map(tuple, px + rng.normal(0, wanted.noise_px, (4, 2)))), STATED_NOISE_PX)
        for i, px in enumerate(corners)
    ]
    plane = plane_from_cards(
        cards,
        WIDTH,
        HEIGHT,
        camera.focal / np.hypot(WIDTH, HEIGHT) * np.hypot(36, 24) * (1 + rng.normal(0, wanted.focal_off)),
        surface_height_mm=height + rng.normal(0, HEIGHT_SD_MM) if height else 0.0,
        surface_height_sd_mm=HEIGHT_SD_MM if height else 0.0,
        card_side_sd_mm=1e-4,
    )
    found = distance_between(tuple(clicks[0]), tuple(clicks[1]), plane, Way("hand", CLICK_PX, CLICK_PX))
    true = 2 * half
    gone = tuple(card.id for card in plane.cards if card.left_out)
    return Outcome(found.value / true - 1, found.expanded / true, tilt, height, camera.k1, gone, bent)

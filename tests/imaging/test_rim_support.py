"""How much of an outline has an edge under it: drawn bodies, whole and blended into the bench along a known stretch."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from shapely.geometry import Polygon

from condition.flow.assists import MOST_LOOSE, take_outline
from condition.imaging.rim_support import loose_share
from condition.records.shapes import Ring
from tests.imaging.bench_photo import bench_photo, outline_of
from tests.imaging.crack_set import develop, grain
from tests.imaging.grow_set import painted

HEIGHT, WIDTH = 900, 1200
FADE_PX = 400


def body_photo(seed: int, half_turn: float) -> tuple[np.ndarray, Ring, float]:
    """A body on a bench that takes on the body's colour beside ``half_turn`` radians either way from its right end.

    Returns the photo, the body's outline, and the share of it that has the body's own colour on both sides.
    """
    rng = np.random.default_rng(seed)
    angle = np.linspace(0, 2 * np.pi, 720, endpoint=False)
    radius = 300 * (1 + 0.22 * np.cos(2 * angle) - 0.07 * np.cos(4 * angle) + 0.05 * np.cos(angle))
    ring = np.stack([600 + 1.15 * radius * np.cos(angle), 450 + radius * np.sin(angle)], axis=1)
    mask = painted((HEIGHT, WIDTH), (tuple(map(tuple, ring)),))
    away = cv2.distanceTransform((~mask).astype(np.uint8), cv2.DIST_L2, 5)
    y, x = np.mgrid[:HEIGHT, :WIDTH]
    turned = np.abs(np.arctan2(y - 450, (x - 600) / 1.15))
    blend = (np.clip((half_turn - turned) / 0.1 + 0.5, 0, 1) * np.clip(1 - away / FADE_PX, 0, 1))[..., None]
    body = np.array([0.45, 0.12, 0.05]) * (0.7 + 0.9 * grain(rng, WIDTH)[:HEIGHT, :, None])
    bench = (0.5 + grain(rng, WIDTH)[:HEIGHT])[..., None] * np.array([0.55, 0.56, 0.58])
    linear = np.where(mask[..., None], body, bench * (1 - blend) + body * blend)
    steps = np.hypot(*(np.roll(ring, -1, axis=0) - ring).T)
    hidden = np.minimum(angle, 2 * np.pi - angle) < half_turn - 0.05
    photo = develop(np.clip(linear, 0, 1), rng, 0.8, 0.01, 92)
    return photo, Ring(tuple(map(tuple, ring.tolist()))), float(steps[hidden].sum() / steps.sum())


@pytest.mark.parametrize("seed", [0, 1])
def test_all_of_a_body_in_plain_sight_has_an_edge_under_it(seed):
    photo, ring, _ = body_photo(seed, 0.0)
    assert loose_share(photo, ring) < 0.01


@pytest.mark.parametrize("seed", [0, 1])
@pytest.mark.parametrize("half_turn", [0.5, 1.0, 1.5])
def test_the_stretch_that_has_the_bodys_colour_on_both_sides_has_none(seed, half_turn):
    photo, ring, hidden = body_photo(seed, half_turn)
    assert loose_share(photo, ring) == pytest.approx(hidden, abs=0.1)


def test_an_outline_on_bare_bench_has_no_edge_at_all():
    rng = np.random.default_rng(3)
    bench = (0.5 + grain(rng, WIDTH)[:HEIGHT])[..., None] * np.array([0.55, 0.56, 0.58])
    _, ring, _ = body_photo(0, 0.0)
    assert loose_share(develop(np.clip(bench, 0, 1), rng, 0.8, 0.01, 92), ring) > 0.9


@pytest.mark.parametrize("name", ["front.jpg", "back.jpg", "headstock_back.jpg"])
def test_the_true_outline_of_a_bench_photo_is_not_called_loose(name):
    """The outline that the renderer knows, between tuners and across the neck too."""
    rgb, _ = bench_photo(name)
    assert loose_share(rgb, Ring(tuple(map(tuple, outline_of(name))))) < MOST_LOOSE


@pytest.mark.parametrize("name", ["front.jpg", "back.jpg", "return_front.jpg", "return_headstock_back.jpg"])
def test_an_outline_of_a_bench_photo_is_right_or_is_told_to_be_checked(name):
    taken = take_outline(bench_photo(name)[0])
    found, truth = (Polygon(ring).buffer(0) for ring in (taken["ring"], outline_of(name)))
    right = found.intersection(truth).area / found.union(truth).area > 0.98
    assert right is (taken["advice"] == "")


def test_an_outline_that_took_the_shadow_in_says_how_much_of_it_has_no_edge():
    """A true outline with a bulge into the shadow beside it, as an assist may take it."""
    rgb, _ = bench_photo("return_back.jpg")
    bulge = [(1890, 1780), (2080, 1900), (2080, 2420), (1800, 2710), (1280, 2710), (1050, 2530)]
    right = [(1020, 740), (1310, 740), (1700, 1240), (1860, 1560)]
    left = [(1050, 2450), (860, 2420), (600, 2200), (490, 1900), (480, 1720), (560, 1400), (740, 1080)]
    assert loose_share(rgb, Ring((*right, *bulge, *left))) > 2 * MOST_LOOSE


@pytest.mark.parametrize(("half_turn", "told"), [(0.0, False), (1.0, True)])
def test_an_outline_taken_through_a_blend_says_so_and_a_whole_one_does_not(half_turn, told):
    photo, _, hidden = body_photo(0, half_turn)
    taken = take_outline(photo)
    assert taken["edge_share"] == pytest.approx(1 - hidden, abs=0.15)
    assert bool(taken["advice"]) is told
    assert ("has no edge under it" in taken["advice"]) is told

"""Is any edge read too far in or out? Cards, holes and cracks of known size by blur and contrast, in pixels.

    PYTHONPATH=tests:. python tests/benchmarks/edge_bias.py [photos a stratum]

``bias`` is the mean signed error of a card's side, a hole's diameter, a crack's width; ``limit`` the larger of 0.02 px
and a tenth of the spread; ``stated`` the standard uncertainty the program gives.
"""

from __future__ import annotations

import sys

import numpy as np
from cameras import card_outline, over_bench
from drawn_edges import crack, hole
from scenes import photo, with_cards

from condition.imaging.cross_section import cross_section
from condition.imaging.markers import find_cards
from condition.imaging.rim import find_rim
from condition.measure.diameter import oval_of

BLURS = (0.5, 1.0, 1.5, 2.0)


def card_error(seed: int, blur: float, black: float, white: float) -> tuple[float, float] | None:
    rng = np.random.default_rng(seed)
    place = (*rng.uniform(-30, 30, 2), rng.uniform(0, 2 * np.pi))
    camera = over_bench(rng.uniform(0, 20), rng.uniform(0, 360), 0, rng.uniform(300, 450), 800, width=480, height=360)
    scene = photo(camera, with_cards([(seed % 50, *place)], black=black, white=white), blur=blur, seed=seed)
    cards = [card for card in find_cards(scene.pixels) if not card.left_out]
    if not cards:
        return None
    found, true = (np.asarray(c, float) for c in (cards[0].corners_px, camera.shoot(card_outline(*place))))
    sides = [np.hypot(*(np.roll(c, -1, axis=0) - c).T).mean() for c in (found, true)]
    return sides[0] - sides[1], cards[0].corner_sd_px


def hole_error(seed: int, blur: float, inner: float, outer: float) -> tuple[float, float] | None:
    rng = np.random.default_rng(seed)
    radius = rng.uniform(6, 15)
    x, y = radius + 20 + rng.uniform(-1, 1, 2)
    rim = find_rim(
        hole(radius, x, y, blur, inner, outer, seed=seed), x + rng.normal(), y, radius * rng.uniform(0.9, 1.1)
    )
    return None if rim is None else (oval_of(rim.points_px)[0] - 2 * radius, 2 * rim.edge_sd_px)


def crack_error(seed: int, blur: float, inner: float, outer: float) -> tuple[float, float] | None:
    rng = np.random.default_rng(seed)
    width = rng.uniform(max(3.2, 2.8 * blur), 12)
    found = cross_section(*crack(width, blur, rng.uniform(0, np.pi), inner, outer, seed))
    return None if found is None or found.bound else (found.mean_px - width, found.mean_sd_px)


def table(name: str, error, contrasts, count: int) -> None:
    for dark, bright in contrasts:
        for blur in BLURS:
            seen = [row for row in (error(k, blur, dark, bright) for k in range(count)) if row is not None]
            off, stated = np.array(seen).T
            limit = max(0.02, 0.1 * off.std())
            print(
                f"{name:<7}{dark:>6}/{bright:<6}blur {blur:<5}{len(seen):>4} of {count:<4}bias {off.mean():+7.4f} "
                f"limit {limit:6.4f}  spread {off.std():6.4f}  stated {np.mean(stated):6.4f}",
                flush=True,
            )


def main(count: int = 24) -> None:
    table("card", card_error, ((0.03, 0.8), (0.1, 0.4)), count)
    table("hole", hole_error, ((0.02, 0.3), (0.15, 0.3), (0.5, 0.25)), count)
    table("crack", crack_error, ((0.02, 0.3), (0.15, 0.3), (0.5, 0.25)), count)


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))

"""The scale against many random bench photos: is the stated 95 % one, and how good are lengths?

    PYTHONPATH=tests:. python tests/benchmarks/scale_simulation.py [trials a stratum] [seed] [part] [of parts]

With a part and how many there are, every so manieth row only: a long table in short runs.

Errors and ± in percent of a length of 450 mm, clicks included; the corners are simulated, not rendered. The program is
always told a corner noise of 0.3 px. ``bent``: share of bent cards that were named and left out; ``lost``: share of
photos in which a good card was; ``ref``: photos refused. In the rows ``one bent`` every photo holds one bent card, in
all others none does.

The first lines are the conditions under which the methods' figures were had (3.6); ``best`` is the 95th percentile that
no estimator can beat there, worked out from the generator's camera by :mod:`length_bound`. Cards that all lie as far
from the picture's middle as each other tell scale from distortion only by how each of them is squeezed, so four cards
in the four corners are worth less than four round the rim, whatever reads them.
"""

from __future__ import annotations

import sys
import time

import numpy as np
from length_bound import best_p95
from trials import Conditions, Outcome, measured_length, published

from condition.errors import Refused

CARDS, NOISES_PX = (1, 2, 3, 4, 6), (0.3, 0.6, 0.1)
"""Numbers of cards, and the corners' true noise: as stated, twice as much, a third."""
WITH_A_BENT_CARD = (4, 6)
LAYOUTS = (("round", 4), ("corners", 4), ("round", 1), ("round", 2), ("round", 3), ("round", 6))


def run(wanted: Conditions, trials: int, seed: int) -> tuple[list[Outcome], int]:
    rng = np.random.default_rng(seed)
    outcomes, refused = [], 0
    for _ in range(trials):
        try:
            outcomes.append(measured_length(rng, wanted))
        except Refused:
            refused += 1
    return outcomes, refused


def line(name: str, outcomes: list[Outcome], refused: int, seconds: float = 0.0, best: float | None = None) -> str:
    error = 100 * np.array([o.error for o in outcomes])
    expanded = 100 * np.array([o.expanded for o in outcomes])
    covered = 100 * (np.abs(error) <= expanded).mean()
    bent = [o for o in outcomes if o.bent is not None]
    named = f"{100 * np.mean([o.bent in o.left_out for o in bent]):3.0f}" if bent else "  -"
    lost = 100 * np.mean([any(i != o.bent for i in o.left_out) for o in outcomes])
    pace = f"{1000 * seconds / len(outcomes):6.0f}" if seconds else ""
    pace += f"{100 * best:8.3f}" if best else ""
    numbers = (
        f"{np.median(np.abs(error)):8.3f}{np.percentile(np.abs(error), 95):8.3f}{error.mean():+8.3f}"
        f"{np.median(expanded):8.3f}{covered:8.1f}"
    )
    return f"{name:<30}{len(outcomes):>6}{refused:>5}{numbers}{named:>6}{lost:6.1f}{pace}"


def strata() -> list[tuple[str, Conditions, bool]]:
    """(name, what is photographed, whether it is one of the methods' own)"""
    own = [(f"methods 3.6, {cards} {layout}", published(cards, layout), True) for layout, cards in LAYOUTS]
    straight = [
        (f"{cards} cards, noise {noise} px", Conditions(cards, noise, bent_share=0.0), False)
        for noise in NOISES_PX
        for cards in CARDS
    ]
    bent = [
        (f"{cards} cards, {noise} px, one bent", Conditions(cards, noise, bent_share=1.0), False)
        for noise in NOISES_PX[:2]
        for cards in WITH_A_BENT_CARD
    ]
    return own + straight + bent


def main(trials: int = 1000, seed: int = 1, part: int = 1, parts: int = 1) -> None:
    names = ("n", "ref", "med", "p95", "mean", "med ±", "cover", "bent", "lost", "ms", "best")
    head = f"{'stratum':<30}" + "".join(
        f"{n:>{w}}" for n, w in zip(names, (6, 5, 8, 8, 8, 8, 8, 6, 6, 6, 8), strict=True)
    )
    print(head, flush=True)
    everything: list[Outcome] = []
    for number, (name, wanted, own) in enumerate(strata()):
        if number % parts != part - 1:
            continue
        start = time.time()
        outcomes, refused = run(wanted, trials, seed if own else seed + 100 * wanted.cards + int(10 * wanted.noise_px))
        best = best_p95(wanted, 200, seed) if own else None
        print(line(name, outcomes, refused, time.time() - start, best), flush=True)
        everything += [] if own else outcomes
    for low, high in ((0, 5), (5, 15), (15, 25)):
        print(line(f"tilt {low}-{high} degrees", [o for o in everything if low <= o.tilt < high], 0))
    for low, high in ((0, 0), (0, 20), (20, 50)):
        chosen = [o for o in everything if (o.height == 0 if high == 0 else low < o.height <= high)]
        print(line(f"height {low}-{high} mm", chosen, 0))
    for low, high in ((-0.03, -0.01), (-0.01, 0.01), (0.01, 0.03)):
        print(line(f"k1 {low:+.2f} to {high:+.2f}", [o for o in everything if low <= o.k1 < high], 0))


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))

"""The scale against many random bench photos: is the stated 95 % one, and how good are lengths?

    python tests/benchmarks/scale_simulation.py [trials a stratum] [seed]

Errors and ± in percent of a length of up to 450 mm, clicks included. The corners are simulated, not rendered.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

import numpy as np

sys.path[:0] = [str(Path(__file__).parents[1]), str(Path(__file__).parents[2])]

from trials import Conditions, Outcome, measured_length

from condition.errors import Refused


def run(wanted: Conditions, trials: int, seed: int) -> tuple[list[Outcome], int]:
    rng = np.random.default_rng(seed)
    outcomes, refused = [], 0
    for _ in range(trials):
        try:
            outcomes.append(measured_length(rng, wanted))
        except Refused:
            refused += 1
    return outcomes, refused


def line(name: str, outcomes: list[Outcome], refused: int, seconds: float = 0.0) -> str:
    error = 100 * np.array([o.error for o in outcomes])
    expanded = 100 * np.array([o.expanded for o in outcomes])
    covered = 100 * (np.abs(error) <= expanded).mean()
    bent = [o for o in outcomes if o.bent is not None]
    named = f"{100 * np.mean([o.bent in o.left_out for o in bent]):3.0f}" if bent else "  -"
    lost = 100 * np.mean([any(i != o.bent for i in o.left_out) for o in outcomes])
    pace = f"{1000 * seconds / len(outcomes):6.0f}" if seconds else ""
    return (
        f"{name:<34}{len(outcomes):>6}{refused:>5}{np.median(np.abs(error)):8.3f}{np.percentile(np.abs(error), 95):8.3f}"
        f"{error.mean():+8.3f}{np.median(expanded):8.3f}{covered:8.1f}{named:>6}{lost:6.1f}{pace}"
    )


def main(trials: int = 1000, seed: int = 1) -> None:
    head = f"{'stratum':<34}{'n':>6}{'ref':>5}{'med':>8}{'p95':>8}{'mean':>8}{'med ±':>8}{'cover':>8}{'bent':>6}{'lost':>6}{'ms':>6}"
    print(head, flush=True)
    everything: list[Outcome] = []
    classic = Conditions(4, 0.3, flat_share=1.0, k1_sd=0.01, bent_share=0.0, corners_only=True, focal_off=0.04)
    start = time.time()
    print(line("4 at corners, flat, k1 1 %", *run(classic, trials, seed), time.time() - start), flush=True)
    for cards in (1, 2, 3, 4, 6):
        for noise in (0.1, 0.3, 0.6):
            start = time.time()
            outcomes, refused = run(Conditions(cards, noise), trials, seed + 100 * cards + int(10 * noise))
            print(line(f"{cards} cards, noise {noise} px", outcomes, refused, time.time() - start), flush=True)
            everything += outcomes
    for low, high in ((0, 5), (5, 15), (15, 25)):
        print(line(f"tilt {low}-{high} degrees", [o for o in everything if low <= o.tilt < high], 0))
    for low, high in ((0, 0), (0, 20), (20, 50)):
        chosen = [o for o in everything if (o.height == 0 if high == 0 else low < o.height <= high)]
        print(line(f"height {low}-{high} mm", chosen, 0))
    for low, high in ((-0.03, -0.01), (-0.01, 0.01), (0.01, 0.03)):
        print(line(f"k1 {low:+.2f} to {high:+.2f}", [o for o in everything if low <= o.k1 < high], 0))


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))

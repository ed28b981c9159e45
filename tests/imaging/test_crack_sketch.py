"""The costs of a whole photo at reduced size, on planted cracks whose place is known."""

from __future__ import annotations

import cv2
import numpy as np

from condition.imaging.crack_sketch import LARGEST_SKETCH_PX, UNITS, crack_sketch

HEIGHT, WIDTH = 1800, 2403


def planted(*lines: tuple[int, int]) -> np.ndarray:
    """Even ground with noise, and level lines across it: (row, grey)."""
    grey = np.random.default_rng(2).normal(180, 2, (HEIGHT, WIDTH)).astype(np.float32)
    for row, value in lines:
        grey[row : row + 4] = value
    return cv2.merge([np.clip(grey, 0, 255).astype(np.uint8)] * 3)


def test_a_crack_costs_least_in_its_own_tone_wherever_it_lies():
    found = crack_sketch(planted((400, 90), (1400, 250)))
    assert found.scale == 4
    assert found.dark.shape == (HEIGHT // 4, WIDTH // 4)
    assert found.dark.size <= LARGEST_SKETCH_PX
    for costs, row in ((found.dark, 100), (found.light, 350)):
        assert np.median(costs[row]) < 0.3 * UNITS
        assert np.median(costs[row]) < 0.5 * np.median(costs[row + 20])
    assert min(found.dark.min(), found.light.min()) >= 1


def test_a_faint_crack_far_from_a_dark_line_still_stands_out():
    alone = crack_sketch(planted((1400, 165)))
    beside = crack_sketch(planted((200, 10), (1400, 165)))
    assert np.median(beside.dark[350]) < 1.1 * np.median(alone.dark[350])

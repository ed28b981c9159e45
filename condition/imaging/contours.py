"""Contours of a field at zero, to a fraction of a pixel, as closed rings."""

from __future__ import annotations

import numpy as np

_SEGMENTS = {
    1: ((3, 2),),
    2: ((2, 1),),
    3: ((3, 1),),
    4: ((1, 0),),
    5: ((3, 0), (1, 2)),
    6: ((2, 0),),
    7: ((3, 0),),
    8: ((0, 3),),
    9: ((0, 2),),
    10: ((0, 1), (2, 3)),
    11: ((0, 1),),
    12: ((1, 3),),
    13: ((1, 2),),
    14: ((2, 3),),
}
"""Sides (0 top, 1 right, 2 bottom, 3 left) joined in a cell whose corners above zero are coded 8, 4, 2, 1 clockwise."""


def zero_rings(field: np.ndarray) -> list[np.ndarray]:
    """Return every closed contour where a field crosses zero, each (N, 2) of x, y with the first not repeated.

    Parameters
    ----------
    field : float, shape (H, W), values at pixel centres; positive is inside, all beyond the array counts as outside

    Returns
    -------
    Rings in array pixels counted from the corner of the first pixel. Outer rings and holes turn opposite ways, so that
    the sum of :func:`signed_area` over all of them is the area inside.

    Source: marching squares, the two-dimensional case of Lorensen and Cline 1987.
    """
    height, width = field.shape
    padded = np.full((height + 2, width + 2), -max(1e-6, float(np.abs(field).max())), np.float64)
    padded[1:-1, 1:-1] = np.where(field == 0, -1e-9, field)
    above = padded > 0
    code = 8 * above[:-1, :-1] + 4 * above[:-1, 1:] + 2 * above[1:, 1:] + above[1:, :-1]
    columns = padded.shape[1]
    follows: dict[int, int] = {}
    for case, joins in _SEGMENTS.items():
        row, column = np.nonzero(code == case)
        flat = row * columns + column
        sides = (2 * flat, 2 * (flat + 1) + 1, 2 * (flat + columns), 2 * flat + 1)
        for start, end in joins:
            follows.update(zip(sides[start].tolist(), sides[end].tolist(), strict=True))
    rings = []
    while follows:
        first, here = follows.popitem()
        edges = [first]
        while here != first:
            edges.append(here)
            here = follows.pop(here)
        rings.append(_points(np.array(edges), padded))
    return rings


def _points(edges: np.ndarray, padded: np.ndarray) -> np.ndarray:
    """Return where the field is zero on each grid edge: even ids run right from a node, odd ids down from it."""
    columns = padded.shape[1]
    node, down = edges // 2, edges % 2
    row, column = node // columns, node % columns
    here = padded[row, column]
    there = padded[row + down, column + 1 - down]
    share = here / (here - there)
    x = column + (1 - down) * share
    y = row + down * share
    return np.stack([x - 0.5, y - 0.5], axis=1)


def signed_area(ring: np.ndarray) -> float:
    """Return the area of a ring, shape (N, 2); its sign tells which way it turns."""
    x, y = ring[:, 0] - ring[0, 0], ring[:, 1] - ring[0, 1]
    return float(0.5 * np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))

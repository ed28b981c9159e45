"""Turn and shift, and turn, shift and scale, between two sets of points: least squares, and robust against strays.

Sources: Umeyama, IEEE PAMI 13(4), 1991 (least squares); Fischler and Bolles, CACM 24(6), 1981 (drawing samples).
"""

from __future__ import annotations

import numpy as np

DRAWS = 3000
ROUNDS = 6


def fitted_motion(before: np.ndarray, after: np.ndarray, *, scale: float | None = 1.0) -> np.ndarray:
    """Return the 3 x 3 motion that carries points (N, 2) nearest to others (N, 2).

    Parameters
    ----------
    scale : lengths after over before; None to find it too (needs two points apart)
    """
    middle, there = before.mean(0), after.mean(0)
    a, b = (before - middle) @ (1, 1j), (after - there) @ (1, 1j)
    turn = (b * a.conj()).sum()
    size = (abs(turn) / (abs(a) ** 2).sum()) if scale is None else scale
    turn = size * turn / abs(turn) if abs(turn) > 0 else complex(size)
    matrix = np.array([[turn.real, -turn.imag, 0.0], [turn.imag, turn.real, 0.0], [0.0, 0.0, 1.0]])
    matrix[:2, 2] = there - matrix[:2, :2] @ middle
    return matrix


def robust_motion(
    before: np.ndarray, after: np.ndarray, reach: float, scale_slack: float = 0.03
) -> tuple[np.ndarray, np.ndarray] | None:
    """Return the turn and shift that most pairs agree on within ``reach``, and which they are; None for no agreement.

    Parameters
    ----------
    before, after : (N, 2) in one unit of length, pairs that may be wrong
    scale_slack : how far the lengths of a drawn pair may differ, relative
    """
    count = len(before)
    if count < 3:
        return None
    a, b = before @ (1, 1j), after @ (1, 1j)
    draw = np.random.default_rng(1)
    i, j = draw.integers(0, count, (2, DRAWS))
    one, two = a[j] - a[i], b[j] - b[i]
    fits = (np.abs(one) > 8 * reach) & (
        np.abs(np.abs(two) - np.abs(one)) < np.maximum(scale_slack * np.abs(one), reach)
    )
    i, one, two = i[fits], one[fits], two[fits]
    if not len(i):
        return None
    turns = two / one
    turns /= np.abs(turns)
    away = np.abs(turns[:, None] * (a - a[i][:, None]) + b[i][:, None] - b)
    kept = away[(away < reach).sum(1).argmax()] < reach
    for _ in range(ROUNDS):
        matrix = fitted_motion(before[kept], after[kept])
        closer = np.hypot(*(before @ matrix[:2, :2].T + matrix[:2, 2] - after).T) < reach
        if closer.sum() < 3 or (closer == kept).all():
            break
        kept = closer
    return fitted_motion(before[kept], after[kept]), kept

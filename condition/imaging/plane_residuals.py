"""The weighted residuals of :mod:`condition.imaging.plane_fit`, compiled: the fit asks for them thousands of times.

The camera is that of :mod:`condition.imaging.pose`, written out in scalars.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit


@njit(cache=True, nogil=True, error_model="numpy")
def weighted_residuals(vectors, outlines, observed, sd, anchor, indices, means, sds, half):  # pragma: no cover
    """Observed less fitted corners over their noise, then prior means less values over theirs.

    vectors : (V, P) unknowns; outlines, observed : (n, 4, 2) mm and px; sd : (n,); anchor : (3,) place of the first
    rectangle; indices, means, sds : (k,) priors, index -1 for ln of the camera's distance

    Returns (V, 8 n + k).
    """
    count, priors = outlines.shape[0], indices.shape[0]
    out = np.empty((vectors.shape[0], 8 * count + priors))
    turn = np.empty((3, 3))
    for v in range(vectors.shape[0]):
        p = vectors[v]
        focal = math.exp(p[0])
        _turn_into(p[5], p[6], p[7], turn)
        for i in range(count):
            if i == 0:
                x0, y0, angle = anchor[0], anchor[1], anchor[2]
            else:
                x0, y0, angle = p[8 + 3 * i], p[9 + 3 * i], p[10 + 3 * i]
            cos, sin = math.cos(angle), math.sin(angle)
            for k in range(4):
                a, b = outlines[i, k, 0], outlines[i, k, 1]
                x, y = x0 + cos * a - sin * b, y0 + sin * a + cos * b
                depth = turn[2, 0] * x + turn[2, 1] * y + p[10]
                px = focal * (turn[0, 0] * x + turn[0, 1] * y + p[8]) / depth
                py = focal * (turn[1, 0] * x + turn[1, 1] * y + p[9]) / depth
                q2 = (px * px + py * py) / (half * half)
                bend = 1 + q2 * (p[1] + p[2] * q2)
                out[v, 8 * i + 2 * k] = (observed[i, k, 0] - px * bend - p[3]) / sd[i]
                out[v, 8 * i + 2 * k + 1] = (observed[i, k, 1] - py * bend - p[4]) / sd[i]
        for j in range(priors):
            if indices[j] < 0:  # noqa: SIM108
                value = 0.5 * math.log(p[8] * p[8] + p[9] * p[9] + p[10] * p[10])
            else:
                value = p[indices[j]]
            out[v, 8 * count + j] = (means[j] - value) / sds[j]
    return out


@njit(cache=True, nogil=True, error_model="numpy")
def _turn_into(x, y, z, turn):  # pragma: no cover
    angle = math.sqrt(x * x + y * y + z * z)
    if angle > 1e-8:
        first, second = math.sin(angle) / angle, (1 - math.cos(angle)) / (angle * angle)
    else:
        first, second = 1.0, 0.5
    turn[0, 0] = 1 - second * (y * y + z * z)
    turn[1, 1] = 1 - second * (x * x + z * z)
    turn[2, 2] = 1 - second * (x * x + y * y)
    turn[0, 1] = second * x * y - first * z
    turn[1, 0] = second * x * y + first * z
    turn[0, 2] = second * x * z + first * y
    turn[2, 0] = second * x * z - first * y
    turn[1, 2] = second * y * z - first * x
    turn[2, 1] = second * y * z + first * x

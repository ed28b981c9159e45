"""Place a photo on the base photo of its face by a few points that a person found on both."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from condition.imaging.overlay import through
from condition.imaging.placing import with_seen
from condition.imaging.plane import mm_per_px_at, to_mm
from condition.imaging.rigid import fitted_motion
from condition.records.placing import Placing
from condition.records.plane import PhotoPlane
from condition.records.shapes import Pair

WIDEST_MM = 4.0
"""Points clicked by hand lie within a few pixels; further off, one of them is another place."""
WIDEST_SHARE = 0.01
"""The same where nothing has a scale, over the base photo's longer side."""
MOST_STRETCH = 1.6
"""Between the two directions of a picture of one face (a camera tilted by 50 degrees)."""


def placed_by_points(
    pairs: Sequence[tuple[Pair, Pair]],
    photo_size: tuple[int, int],
    base_size: tuple[int, int],
    photo_plane: PhotoPlane | None = None,
    base_plane: PhotoPlane | None = None,
) -> Placing:
    """Return the placing that pairs of upright pixels, in the photo and in the base photo, give.

    Two pairs fix it; with both planes known a turn and a shift carry it, without, turn and shift and scale for two
    pairs, and each further pair more freedom: a stretch with three, a camera's tilt with four and more.

    Returns
    -------
    The placing; ``refusal`` is ``face.points_few``, ``face.points_close`` or ``face.points_disagree``.
    """
    if len(pairs) < 2:
        return Placing("points", supports=len(pairs), refusal="face.points_few")
    here, there = (np.array([pair[k] for pair in pairs], float) for k in (0, 1))
    apart = min(
        np.hypot(*np.ptp(points, axis=0)) / max(size) for points, size in ((here, photo_size), (there, base_size))
    )
    if apart < 0.03:
        return Placing("points", supports=len(pairs), refusal="face.points_close")
    planes = photo_plane is not None and base_plane is not None
    if planes:
        here, there = to_mm(here, photo_plane), to_mm(there, base_plane)
    matrix = _matrix(here, there, in_mm=planes)
    if matrix is None:
        return Placing("points", supports=len(pairs), refusal="face.points_disagree")
    away = float(np.sqrt((np.hypot(*(through(matrix, here) - there).T) ** 2).mean()))
    per_px = float(mm_per_px_at(there.mean(0)[None], base_plane)[0]) if base_plane and not planes else 1.0
    residual = away * per_px if base_plane else None
    widest = WIDEST_MM if residual is not None else WIDEST_SHARE * max(base_size)
    ratio = None
    if planes:
        ratio = 1 / float(np.hypot(*fitted_motion(here, there, scale=None)[:2, 0]))
    placing = Placing(
        "points",
        tuple(float(v) for v in matrix.ravel()),
        planes,
        residual_mm=residual,
        supports=len(pairs),
        scale_ratio=ratio,
        refusal="face.points_disagree" if (residual if residual is not None else away) > widest else "",
    )
    return with_seen(placing, photo_plane, base_plane, photo_size, base_size)


def _matrix(here: np.ndarray, there: np.ndarray, *, in_mm: bool) -> np.ndarray | None:
    if in_mm or len(here) == 2:
        return fitted_motion(here, there, scale=1.0 if in_mm else None)
    matrix = _affine(here, there) if len(here) == 3 else _projective(here, there)
    stretch = np.linalg.svd(matrix[:2, :2], compute_uv=False)
    if not np.isfinite(matrix).all() or stretch[0] > MOST_STRETCH * stretch[1] or np.linalg.det(matrix[:2, :2]) <= 0:
        return fitted_motion(here, there, scale=None)
    return matrix


def _affine(here: np.ndarray, there: np.ndarray) -> np.ndarray:
    found, *_ = np.linalg.lstsq(np.column_stack([here, np.ones(len(here))]), there, rcond=None)
    return np.vstack([found.T, [0.0, 0.0, 1.0]])


def _projective(here: np.ndarray, there: np.ndarray) -> np.ndarray:
    """Direct linear transformation with both sets brought to unit size (Hartley, IEEE PAMI 19(6), 1997)."""
    norms = []
    for points in (here, there):
        size = np.sqrt(2) / np.hypot(*(points - points.mean(0)).T).mean()
        norms.append(
            np.array([[size, 0, -size * points[:, 0].mean()], [0, size, -size * points[:, 1].mean()], [0, 0, 1]])
        )
    a, b = through(norms[0], here), through(norms[1], there)
    rows = []
    for (x, y), (u, v) in zip(a, b, strict=True):
        rows += [[-x, -y, -1, 0, 0, 0, u * x, u * y, u], [0, 0, 0, -x, -y, -1, v * x, v * y, v]]
    matrix = np.linalg.inv(norms[1]) @ np.linalg.svd(np.array(rows))[2][-1].reshape(3, 3) @ norms[0]
    return matrix / matrix[2, 2] if abs(matrix[2, 2]) > 1e-12 else np.full((3, 3), np.nan)

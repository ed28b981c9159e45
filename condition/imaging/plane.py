"""Map between the pixels of a photo and the millimetres of its measured surface, and show what the map is worth."""

from __future__ import annotations

import numpy as np

from condition.imaging.lens import half_diagonal_px
from condition.imaging.pose import back_project, project, rotation
from condition.records.plane import PhotoPlane
from condition.records.shapes import Pair


def parameter_values(plane: PhotoPlane) -> np.ndarray:
    """The plane's parameters as an array, in the order of its ``sources`` columns."""
    return np.array([parameter.value for parameter in plane.parameters])


def to_mm(points_px: np.ndarray, plane: PhotoPlane, parameters: np.ndarray | None = None) -> np.ndarray:
    """Where pixels lie on the measured surface.

    Parameters
    ----------
    points_px : (N, 2) upright-photo pixels
    parameters : (..., P) vectors to use instead of the plane's own, for propagating its uncertainty

    Returns
    -------
    (..., N, 2) mm, x right and y down as in the photo at the largest card; NaN beyond the surface's horizon.
    """
    vector = parameter_values(plane) if parameters is None else np.asarray(parameters, float)
    return back_project(np.asarray(points_px, float), vector, half_diagonal_px(plane.width, plane.height))


def to_px(points_mm: np.ndarray, plane: PhotoPlane) -> np.ndarray:
    """Where points (N, 2) in mm of the measured surface appear in the upright photo, (N, 2) pixels."""
    points = np.asarray(points_mm, float)
    lifted = np.column_stack([points, np.full(len(points), -parameter_values(plane)[12])])
    return project(lifted, parameter_values(plane), half_diagonal_px(plane.width, plane.height))


def mm_per_px_at(points_px: np.ndarray, plane: PhotoPlane) -> np.ndarray:
    """Local scale (N,) in mm per pixel: the square root of the area of one pixel."""
    points = np.asarray(points_px, float).reshape(-1, 2)
    step_x, step_y = np.array([0.5, 0.0]), np.array([0.0, 0.5])
    a = to_mm(points + step_x, plane) - to_mm(points - step_x, plane)
    b = to_mm(points + step_y, plane) - to_mm(points - step_y, plane)
    return np.sqrt(np.abs(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]))


def homography(plane: PhotoPlane) -> np.ndarray:
    """The 3 x 3 matrix from mm of the surface to pixels before the lens bends them (see :func:`lens_of`)."""
    p = parameter_values(plane)
    turn, shift = rotation(p[5:8]), p[8:11] * p[11]
    camera = np.array([[np.exp(p[0]), 0, p[3]], [0, np.exp(p[0]), p[4]], [0, 0, 1]])
    matrix = camera @ np.column_stack([turn[:, 0], turn[:, 1], shift - turn[:, 2] * p[12]])
    return matrix / matrix[2, 2]


def lens_of(plane: PhotoPlane) -> dict[str, object]:
    """What turns the homography's pixels into the photo's: see :mod:`condition.imaging.lens` for the formula."""
    p = parameter_values(plane)
    return {
        "centre": [float(p[3]), float(p[4])],
        "half_diagonal_px": half_diagonal_px(plane.width, plane.height),
        "k1": float(p[1]),
        "k2": float(p[2]),
        "focal_px": float(np.exp(p[0])),
        "found": plane.lens,
    }


def grid_px(plane: PhotoPlane, step_mm: float) -> tuple[tuple[Pair, ...], ...]:
    """Lines of a millimetre grid over the whole photo, as polylines in upright pixels (curved where the lens bends)."""
    width, height = plane.width, plane.height
    border = np.array([(x * width / 8, y * height / 8) for x in range(9) for y in range(9)])
    seen = to_mm(border, plane)
    seen = seen[np.isfinite(seen).all(1)]
    low, high = np.floor(seen.min(0) / step_mm) * step_mm, np.ceil(seen.max(0) / step_mm) * step_mm
    most = 400
    if ((high - low) / step_mm > most).any():
        return ()
    along = np.linspace(0, 1, 33)
    lines = []
    for axis in (0, 1):
        for at in np.arange(low[axis], high[axis] + step_mm / 2, step_mm):
            points = np.empty((len(along), 2))
            points[:, axis] = at
            points[:, 1 - axis] = low[1 - axis] + along * (high[1 - axis] - low[1 - axis])
            px = to_px(points, plane)
            inside = (px > (-width * 0.1, -height * 0.1)).all(1) & (px < (width * 1.1, height * 1.1)).all(1)
            if inside.sum() > 1:
                lines.append(tuple((float(x), float(y)) for x, y in px[inside]))
    return tuple(lines)


def residual_arrows(plane: PhotoPlane) -> tuple[tuple[int, Pair, Pair], ...]:
    """For each corner of each card used: (card id, corner in px, observed minus fitted in px)."""
    return tuple(
        (card.id, corner, residual)
        for card in plane.cards
        for corner, residual in zip(card.corners_px, card.residuals_px, strict=False)
    )


def outside_cards(points_px: np.ndarray, plane: PhotoPlane) -> float:
    """How far points (N, 2) lie outside the hull of the cards: 0 inside, 1 at the hull's longest span."""
    from shapely.geometry import MultiPoint, Point

    used = [corner for card in plane.cards if not card.left_out for corner in card.corners_px]
    if not used:
        return 0.0
    hull = MultiPoint(to_mm(np.array(used), plane)).convex_hull
    rim = np.array(hull.exterior.coords)
    span = float(np.sqrt(((rim[:, None] - rim[None]) ** 2).sum(-1)).max())
    seen = to_mm(np.asarray(points_px, float).reshape(-1, 2), plane)
    return max((hull.distance(Point(p)) for p in seen if np.isfinite(p).all()), default=np.inf) / span


def relative_variances(plane: PhotoPlane) -> dict[str, np.ndarray]:
    """What each error source brings to lengths across the middle half of the photo, across and down: (2,) relative."""
    w, h = plane.width, plane.height
    ends = np.array([[w / 4, h / 2], [w * 3 / 4, h / 2], [w / 2, h / 4], [w / 2, h * 3 / 4]])
    vector = parameter_values(plane)

    def lengths(vectors: np.ndarray) -> np.ndarray:
        seen = to_mm(ends, plane, vectors)
        return np.hypot(*np.moveaxis(seen[..., 1::2, :] - seen[..., ::2, :], -1, 0))

    value = lengths(vector)
    return {
        name: (((lengths(vector + block) - lengths(vector - np.array(block))) / 2 / value) ** 2).sum(0)
        for name, block in plane.sources
    }


def relative_expanded(plane: PhotoPlane) -> float:
    """Expanded uncertainty (k = 2) of lengths across the middle half of the photo, relative; the worse direction."""
    return float((2 * np.sqrt(sum(relative_variances(plane).values()))).max())

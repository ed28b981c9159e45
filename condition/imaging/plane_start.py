"""First guesses for the plane's fit: from the largest rectangle's size, and the others laid where they are seen."""

from __future__ import annotations

import cv2
import numpy as np

from condition.errors import Refused
from condition.imaging.plane_fit import Fit, Prior, Rectangle, solve
from condition.imaging.pose import FITTED, back_project, project, rotation, rotation_vector


def quad_size_px(corners_px: np.ndarray) -> float:
    """Square root of the area of a quadrilateral (4, 2)."""
    x, y = corners_px.T
    return float(np.sqrt(abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2))


def poses_of_one(
    rectangle: Rectangle, priors: tuple[Prior, ...], focal: float, centre: np.ndarray, half: float
) -> list[Fit]:
    """The distinct poses that explain one rectangle, the best first: a small one may be tilted either way.

    Raises Refused where the corners are those of no square seen from in front.

    Starts: the two solutions of Collins and Bartoli, Infinitesimal plane-based pose estimation, IJCV 109, 2014.
    """
    matrix = np.array([[focal, 0, centre[0]], [0, focal, centre[1]], [0, 0, 1.0]])
    outline = np.column_stack([rectangle.outline_mm, np.zeros(4)])
    _, turns, shifts, _ = cv2.solvePnPGeneric(outline, rectangle.corners_px, matrix, None, flags=cv2.SOLVEPNP_IPPE)
    fits: list[Fit] = []
    for turn, shift in zip(turns, shifts, strict=True):
        start = np.concatenate([[np.log(focal), 0.0, 0.0], centre, turn.ravel(), shift.ravel()])
        if not np.isfinite(start).all() or start[10] <= 0:
            continue
        fit = solve((rectangle,), start, priors, half)
        if all(np.abs(fit.camera[5:8] - other.camera[5:8]).max() > 2e-3 for other in fits):
            fits.append(fit)
    if not fits:
        raise Refused("scale.no_pose", card=str(rectangle.id))
    fits.sort(key=lambda fit: fit.chi2)
    return [fit for fit in fits if fit.chi2 < fits[0].chi2 + 200]


def placement_of(rectangle: Rectangle, camera: np.ndarray, half: float) -> tuple[float, float, float]:
    """x, y in mm and angle of a rectangle on the plane of a camera vector (11,)."""
    seen = back_project(rectangle.corners_px, np.append(camera[:FITTED], [1.0, 0.0]), half)
    top = seen[1] - seen[0] + seen[2] - seen[3]
    x, y = seen.mean(0)
    return float(x), float(y), float(np.arctan2(top[1], top[0]))


def fit_all(rectangles: tuple[Rectangle, ...], priors: tuple[Prior, ...], starts: list[Fit], half: float) -> Fit:
    """Fit all rectangles (the first holds the frame) from each start; the best is returned."""
    best = None
    for start in starts:
        rest = [placement_of(r, start.camera, half) for r in rectangles[1:]]
        if not np.isfinite(rest).all():
            continue
        fit = solve(rectangles, np.concatenate([start.camera, *rest]) if rest else start.camera, priors, half)
        if best is None or fit.chi2 < best.chi2:
            best = fit
    return best if best is not None else solve(rectangles[:1], starts[0].camera, priors, half)


def reframed(fit: Fit, half: float) -> Fit:
    """The same fit with the first rectangle's centre as origin and x to the right in the photo there."""
    camera = fit.camera
    offsets = np.array([[0, 0, 0], [1e-3, 0, 0], [0, 1e-3, 0]])
    seen = project(offsets, camera, half)
    along, across = seen[1] - seen[0], seen[2] - seen[0]
    angle = float(np.arctan2(-along[1], across[1]))
    if along[0] * np.cos(angle) + across[0] * np.sin(angle) < 0:
        angle += np.pi
    turn = rotation(camera[5:8]) @ rotation(np.array([0.0, 0.0, angle]))
    moved = camera.copy()
    moved[5:8] = rotation_vector(turn)
    cos, sin = np.cos(angle), np.sin(angle)
    rest = fit.placements[1:].copy()
    rest[:, :2] = rest[:, :2] @ np.array([[cos, -sin], [sin, cos]])
    rest[:, 2] -= angle
    start = np.concatenate([moved, rest.ravel()])
    return solve(fit.rectangles, start, fit.priors, half, anchor=(0.0, 0.0, -angle))

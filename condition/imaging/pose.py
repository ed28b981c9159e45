"""The camera over a plane: points in millimetres to upright pixels and back, for one or many parameter vectors.

A camera vector holds, in this order, :data:`NAMES`. The plane's frame is x right, y down, z away from the camera;
a point ``h`` mm above the plane, towards the camera, has z = -h.
"""

from __future__ import annotations

import numpy as np

from condition.imaging.lens import distort, undistort

NAMES = ("ln_f", "k1", "k2", "cx", "cy", "rx", "ry", "rz", "tx", "ty", "tz", "card_scale", "height")
"""ln of the focal length in px; distortion at the half diagonal; principal point in px; rotation vector; the plane's
origin seen from the camera in mm; true over stated size of the cards; height of the surface in mm."""

FITTED = 11
"""The first eleven are found by the fit; the last two come from outside."""


def rotation(vector: np.ndarray) -> np.ndarray:
    """Rotation matrices (..., 3, 3) of rotation vectors (..., 3) (Rodrigues)."""
    angle = np.sqrt((vector**2).sum(-1))[..., None, None]
    x, y, z = vector[..., 0], vector[..., 1], vector[..., 2]
    zero = np.zeros_like(x)
    cross = np.stack([zero, -z, y, z, zero, -x, -y, x, zero], -1).reshape(*x.shape, 3, 3)
    safe = np.where(angle > 1e-8, angle, 1.0)
    first = np.where(angle > 1e-8, np.sin(safe) / safe, 1 - angle**2 / 6)
    second = np.where(angle > 1e-8, (1 - np.cos(safe)) / safe**2, 0.5 - angle**2 / 24)
    return np.eye(3) + first * cross + second * (cross @ cross)


def rotation_vector(matrix: np.ndarray) -> np.ndarray:
    """The rotation vector of one rotation matrix (3, 3), angle below pi."""
    angle = np.arccos(np.clip((np.trace(matrix) - 1) / 2, -1, 1))
    axis = np.array([matrix[2, 1] - matrix[1, 2], matrix[0, 2] - matrix[2, 0], matrix[1, 0] - matrix[0, 1]])
    if angle < 1e-9:
        return axis / 2
    if np.pi - angle < 1e-5:
        column = np.argmax(np.diag(matrix))
        along = matrix[:, column] + np.eye(3)[:, column]
        return angle * along / np.linalg.norm(along)
    return axis * angle / (2 * np.sin(angle))


def project(points_mm: np.ndarray, camera: np.ndarray, half: float) -> np.ndarray:
    """Points (..., N, 3) of the plane's frame as upright pixels (..., N, 2), for cameras (..., 13 or 11)."""
    scale = camera[..., 11:12] if camera.shape[-1] > FITTED else 1.0
    seen = points_mm @ np.swapaxes(rotation(camera[..., 5:8]), -1, -2) + (camera[..., 8:11] * scale)[..., None, :]
    ideal = np.exp(camera[..., 0])[..., None, None] * seen[..., :2] / seen[..., 2:]
    return distort(ideal, camera[..., 1, None], camera[..., 2, None], half) + camera[..., None, 3:5]


def back_project(points_px: np.ndarray, camera: np.ndarray, half: float) -> np.ndarray:
    """Upright pixels (N, 2) as points (..., N, 2) in mm of the surface; NaN where the ray never meets it."""
    ideal = undistort(points_px - camera[..., None, 3:5], camera[..., 1, None], camera[..., 2, None], half)
    ray = np.concatenate([ideal / np.exp(camera[..., 0])[..., None, None], np.ones_like(ideal[..., :1])], -1)
    turn = rotation(camera[..., 5:8])
    ray = ray @ turn
    eye = -(camera[..., None, 8:11] * camera[..., None, 11:12]) @ turn
    depth = -camera[..., None, 12] - eye[..., 2]
    along = depth / np.where(ray[..., 2] == 0, np.nan, ray[..., 2])
    along = np.where(along > 0, along, np.nan)
    return eye[..., :2] + along[..., None] * ray[..., :2]

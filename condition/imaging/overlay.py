"""Where a point of the intake photo lies in the return photo, and the return photo laid over the intake photo."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import cv2
import numpy as np

FIELD_TERMS = 10
"""Terms of a cubic in x and y: bent tops and two lenses' distortion leave no finer trace between two photos."""

STRIP_ROWS = 256


def cubic_terms(points: np.ndarray) -> np.ndarray:
    """The ten terms of a cubic, (N, 10), of points (N, 2) scaled to about -1..1."""
    x, y = points.T
    one = np.ones_like(x)
    return np.column_stack([one, x, y, x * x, x * y, y * y, x**3, x * x * y, x * y * y, y**3])


def through(homography: np.ndarray, points: np.ndarray) -> np.ndarray:
    """Points (N, 2) through a homography (3, 3)."""
    seen = points @ homography[:, :2].T + homography[:, 2]
    return seen[:, :2] / seen[:, 2:]


@dataclass(frozen=True, slots=True, eq=False)
class Overlay:
    """From upright pixels of the intake photo to upright pixels of the return photo.

    homography : (3, 3)
    field : (10, 2) or None, a smooth cubic correction in return pixels over the intake photo scaled by its half sides
    width, height : of the intake photo
    """

    homography: np.ndarray
    width: int
    height: int
    field: np.ndarray | None = None

    def scaled(self, points: np.ndarray) -> np.ndarray:
        """Intake pixels (N, 2) in half sides from the middle."""
        half = np.array([self.width / 2, self.height / 2])
        return (points - half) / half

    def to_after(self, points: np.ndarray) -> np.ndarray:
        """Return pixels (N, 2) of intake pixels (N, 2)."""
        points = np.asarray(points, float)
        seen = through(self.homography, points)
        return seen if self.field is None else seen + cubic_terms(self.scaled(points)) @ self.field

    def to_before(self, points: np.ndarray) -> np.ndarray:
        """Intake pixels (N, 2) of return pixels (N, 2), to 0.001 px."""
        points = np.asarray(points, float)
        back = np.linalg.inv(self.homography)
        guess = through(back, points)
        for _ in range(0 if self.field is None else 8):
            guess = guess + through(back, points) - through(back, self.to_after(guess))
        return guess

    def scale(self) -> float:
        """Return pixels an intake pixel, in the middle."""
        middle = np.array([[self.width / 2, self.height / 2]])
        a, b, c = self.to_after(middle + np.array([(0, 0), (1, 0), (0, 1)]))
        (p, q), (r, s) = b - a, c - a
        return float(np.sqrt(abs(p * s - q * r)))

    def at(self, factor_before: float, factor_after: float) -> Overlay:
        """The same overlay between the photos reduced to these factors of their size."""
        reduce = np.diag([factor_after, factor_after, 1.0])
        enlarge = np.diag([1 / factor_before, 1 / factor_before, 1.0])
        field = None if self.field is None else self.field * factor_after
        return Overlay(reduce @ self.homography @ enlarge, round(self.width * factor_before),
                       round(self.height * factor_before), field)  # fmt: skip


def sampling(overlay: Overlay) -> Iterator[tuple[int, int, np.ndarray]]:
    """Strips of the intake photo: first row, end row, and (rows, width, 2) float32 sample places in the return photo,
    counted from pixel centres as OpenCV does."""
    x = np.arange(overlay.width) + 0.5
    coarse_x = np.append(x[::16], x[-1])
    for top in range(0, overlay.height, STRIP_ROWS):
        bottom = min(top + STRIP_ROWS, overlay.height)
        y = np.arange(top, bottom) + 0.5
        h = overlay.homography
        depth = h[2, 0] * x + (h[2, 1] * y + h[2, 2])[:, None]
        places = np.empty((bottom - top, overlay.width, 2), np.float32)
        for axis in (0, 1):
            places[..., axis] = (h[axis, 0] * x + (h[axis, 1] * y + h[axis, 2])[:, None]) / depth - 0.5
        if overlay.field is not None:
            coarse_y = np.append(y[::16], y[-1])
            mesh = np.stack(np.meshgrid(coarse_x, coarse_y), -1)
            bent = (cubic_terms(overlay.scaled(mesh.reshape(-1, 2))) @ overlay.field).reshape(mesh.shape)
            places += _between(bent, coarse_x, coarse_y, x, y)
        yield top, bottom, places


def _between(values: np.ndarray, xs: np.ndarray, ys: np.ndarray, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Bilinear interpolation of values (len(ys), len(xs), 2) on a coarse mesh, at every pixel."""
    fine = np.empty((len(y), len(x), 2), np.float32)
    for axis in (0, 1):
        along = np.array([np.interp(x, xs, row) for row in values[..., axis]])
        j = np.clip(np.searchsorted(ys, y, side="right") - 1, 0, max(len(ys) - 2, 0))
        if len(ys) == 1:
            fine[..., axis] = along[0]
            continue
        gap = np.maximum(ys[j + 1] - ys[j], 1e-9)
        t = ((y - ys[j]) / gap)[:, None]
        fine[..., axis] = along[j] * (1 - t) + along[j + 1] * t
    return fine


def laid_over(after: np.ndarray, overlay: Overlay) -> tuple[np.ndarray, np.ndarray]:
    """Resample the return photo in the intake photo's frame.

    Parameters
    ----------
    after : uint8, shape (h, w) or (h, w, 3)

    Returns
    -------
    uint8 of the intake photo's size, and bool (H, W): True where the return photo shows the place.
    """
    height, width = after.shape[:2]
    factor = overlay.scale()
    if factor > 1.3:
        after = cv2.GaussianBlur(after, (0, 0), 0.5 * np.sqrt(factor**2 - 1))
    laid = np.zeros((overlay.height, overlay.width, *after.shape[2:]), np.uint8)
    seen = np.zeros(laid.shape[:2], bool)
    for top, bottom, places in sampling(overlay):
        laid[top:bottom] = cv2.remap(after, places, None, cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE)
        x, y = places[..., 0], places[..., 1]
        seen[top:bottom] = (x >= 1) & (y >= 1) & (x <= width - 2) & (y <= height - 2)
    return laid, seen

"""A photo with its scale drawn over it: a millimetre grid, the cards' hull, and what the fit left at their corners."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np

from condition.errors import Refused
from condition.imaging.plane import grid_px, residual_arrows
from condition.records.plane import PhotoPlane
from condition.records.shapes import Pair

LONGEST_PX = 1400
GRID_STEPS_MM = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0)
LEAST_GAP_PX = 26.0
"""Between two lines of the grid in the finished picture."""
ARROW_PX = 60.0
"""The longest arrow in the finished picture reaches at most so far."""
FACTORS = tuple(float(m * 10**e) for e in range(5) for m in (1, 2, 5))

_LIGHT, _DARK = (255, 255, 255), (20, 60, 56)
_ARROW, _HULL, _FAR = (200, 30, 90), (20, 110, 190), (225, 110, 0)


@dataclass(frozen=True, slots=True)
class ScalePicture:
    """jpeg : the picture; step_mm : between the grid's lines, 0 without a grid; factor : how often the arrows are
    enlarged over the photo's pixels, 0 without arrows; longest_px : the largest residual in the photo's pixels"""

    jpeg: bytes
    step_mm: float
    factor: float
    longest_px: float


def grid_step_mm(mm_per_px: float, shrink: float) -> float:
    """The least step whose lines stand apart in the picture; ``shrink``: the picture's pixels for one of the photo."""
    return next((step for step in GRID_STEPS_MM if step / mm_per_px * shrink >= LEAST_GAP_PX), GRID_STEPS_MM[-1])


def arrow_factor(longest_px: float, shrink: float) -> float:
    """How often residuals are enlarged so that the longest still fits; 0 when there are none."""
    fitting = [factor for factor in FACTORS if longest_px * factor * shrink <= ARROW_PX]
    return (fitting[-1] if fitting else FACTORS[0]) if longest_px > 0 else 0.0


def scale_picture(
    rgb: np.ndarray, plane: PhotoPlane, far_marks: Sequence[Sequence[Pair]] = (), longest_px: int = LONGEST_PX
) -> ScalePicture:
    """Draw the grid, the hull of the cards used, the residual arrows and the marks that lie where the scale is unsure.

    Parameters
    ----------
    rgb : upright photo, uint8 (H, W, 3)
    far_marks : points in upright pixels of each mark to be pointed out
    """
    height, width = rgb.shape[:2]
    shrink = min(1.0, longest_px / max(height, width))
    size = (max(1, round(width * shrink)), max(1, round(height * shrink)))
    canvas = cv2.resize(rgb, size, interpolation=cv2.INTER_AREA) if shrink < 1 else rgb.copy()
    step = grid_step_mm(plane.mm_per_px, shrink)
    lines = grid_px(plane, step)
    _lines(canvas, lines, shrink)
    _hull(canvas, plane, shrink)
    arrows = residual_arrows(plane)
    longest = max((float(np.hypot(*left)) for _, _, left in arrows), default=0.0)
    factor = arrow_factor(longest, shrink)
    for _, corner, left in arrows:
        tip = np.array(corner) + factor * np.array(left)
        _arrow(canvas, np.array(corner) * shrink, tip * shrink)
    for mark in far_marks:
        middle, reach = _circle_round(np.array(mark, float) * shrink)
        cv2.circle(canvas, _fixed(middle), round((reach + 12) * 16), _FAR, 3, cv2.LINE_AA, 4)
    done, coded = cv2.imencode(".jpg", cv2.cvtColor(canvas, cv2.COLOR_RGB2BGR), [cv2.IMWRITE_JPEG_QUALITY, 85])
    if not done:
        raise Refused("scale.no_picture")
    return ScalePicture(coded.tobytes(), step if lines else 0.0, factor, longest)


def _fixed(point: np.ndarray) -> tuple[int, int]:
    """OpenCV's sixteenths of a pixel, counted from the first pixel's centre."""
    x, y = np.clip(np.rint((point - 0.5) * 16), -1e6, 1e6).astype(int)
    return int(x), int(y)


def _lines(canvas: np.ndarray, lines: tuple[tuple[Pair, ...], ...], shrink: float) -> None:
    over = canvas.copy()
    for colour, thick in ((_DARK, 2), (_LIGHT, 1)):
        for line in lines:
            points = np.array([_fixed(point) for point in np.array(line) * shrink], np.int32)
            cv2.polylines(over, [points], False, colour, thick, cv2.LINE_AA, 4)
    cv2.addWeighted(over, 0.55, canvas, 0.45, 0, canvas)


def _hull(canvas: np.ndarray, plane: PhotoPlane, shrink: float) -> None:
    used = [corner for card in plane.cards if not card.left_out for corner in card.corners_px]
    if used:
        rim = cv2.convexHull(np.array(used, np.float32))[:, 0] * shrink
        cv2.polylines(canvas, [np.array([_fixed(p) for p in rim], np.int32)], True, _HULL, 2, cv2.LINE_AA, 4)


def _arrow(canvas: np.ndarray, start: np.ndarray, tip: np.ndarray) -> None:
    length = max(float(np.hypot(*(tip - start))), 1e-6)
    for colour, thick in ((_LIGHT, 5), (_ARROW, 2)):
        cv2.arrowedLine(
            canvas, _fixed(start), _fixed(tip), colour, thick, cv2.LINE_AA, 4, min(0.35, 9 / length) if length else 0.0
        )
        cv2.circle(canvas, _fixed(start), 40 + 8 * thick, colour, -1, cv2.LINE_AA, 4)


def _circle_round(points: np.ndarray) -> tuple[np.ndarray, float]:
    middle = (points.min(0) + points.max(0)) / 2
    return middle, float(np.hypot(*(points - middle).T).max())

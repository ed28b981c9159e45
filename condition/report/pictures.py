"""Photos on paper: scaled to the print, coded as JPEG with nothing but pixels in them."""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import numpy as np
from PIL import Image

from condition.records.photo import Photo
from condition.report.drawing import MM

if TYPE_CHECKING:
    from reportlab.lib.utils import ImageReader

Pixels = Callable[[Photo], np.ndarray]
"""Gives a photo's upright pixels: uint8 sRGB, shape (height, width, 3)."""

PRINT_DPI = 200
QUALITY = 86


class Pictures:
    """Makes each picture once, however often the document is laid out."""

    def __init__(self, pixels: Pixels) -> None:
        self._pixels = pixels
        self._made: dict[tuple, ImageReader] = {}

    def whole(self, photo: Photo, width_mm: float, *, faint: bool = False) -> ImageReader:
        """Return the photo for a print of that width; ``faint`` lightens it, so that lines over it are seen."""
        return self._picture(photo, (0, 0, photo.width, photo.height), width_mm, faint)

    def crop(self, photo: Photo, box_px: tuple[int, int, int, int], width_mm: float) -> ImageReader:
        """Return a part (left, top, right, bottom) of the photo for a print of that width."""
        return self._picture(photo, box_px, width_mm, False)

    def laid(
        self,
        photo: Photo,
        homography: Sequence[float],
        tone: Sequence[tuple[float, float]],
        box_px: tuple[int, int, int, int],
        width_mm: float,
    ) -> ImageReader:
        """Return what the photo shows in a box of another photo it is laid over, see
        :func:`condition.imaging.laid_crop.laid_crop`."""
        from condition.imaging.laid_crop import laid_crop

        key = (photo.id, tuple(homography), tuple(tone), box_px, round(width_mm, 1))
        if key not in self._made:
            self._made[key] = _reader(laid_crop(self._pixels(photo), homography, box_px, tone), width_mm, False)
        return self._made[key]

    def _picture(self, photo: Photo, box: tuple[int, int, int, int], width_mm: float, faint: bool) -> ImageReader:
        key = (photo.id, box, round(width_mm, 1), faint)
        if key not in self._made:
            left, top, right, bottom = box
            self._made[key] = _reader(self._pixels(photo)[top:bottom, left:right], width_mm, faint)
        return self._made[key]


def _reader(rgb: np.ndarray, width_mm: float, faint: bool) -> ImageReader:
    from reportlab.lib.utils import ImageReader

    picture = Image.fromarray(np.ascontiguousarray(rgb))
    most = max(16, round(width_mm / 25.4 * PRINT_DPI))
    if picture.width > most:
        size = (most, max(1, round(picture.height * most / picture.width)))
        picture = picture.resize(size, Image.Resampling.LANCZOS, reducing_gap=3.0)
    if faint:
        picture = Image.blend(picture.convert("L").convert("RGB"), Image.new("RGB", picture.size, "white"), 0.55)
    buffer = io.BytesIO()
    picture.save(buffer, "JPEG", quality=QUALITY, optimize=True)
    buffer.seek(0)
    return ImageReader(buffer)


def fitted(width_px: float, height_px: float, width_mm: float, height_mm: float) -> tuple[float, float]:
    """Return the size in mm of a picture that keeps its proportions inside a box."""
    scale = min(width_mm / width_px, height_mm / height_px)
    return width_px * scale, height_px * scale


def points(length_mm: float) -> float:
    return length_mm * MM

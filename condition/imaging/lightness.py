"""How light each pixel is: CIE lightness for what the eye follows, linear luminance for where an edge stands.

Source: IEC 61966-2-1 (sRGB transfer curve and primaries, D65), CIE 15 (L*a*b*).
"""

from __future__ import annotations

import cv2
import numpy as np

from condition.imaging.colour import LINEAR_OF_BYTE, linear

_LINEAR = linear(np.arange(256) / 255)
_LUMINANCE_WEIGHTS = (0.2126, 0.7152, 0.0722)
_CHANNEL_LUMINANCE = tuple((weight * _LINEAR).astype(np.float32) for weight in _LUMINANCE_WEIGHTS)


def lab_of(rgb: np.ndarray) -> np.ndarray:
    """Return L*a*b* (D65), float32 of shape (H, W, 3), L 0..100, of an sRGB uint8 picture of that shape."""
    return cv2.cvtColor(rgb.astype(np.float32) / np.float32(255), cv2.COLOR_RGB2LAB)


def luminance_of(rgb: np.ndarray) -> np.ndarray:
    """Return relative luminance in linear light, float32 of shape (H, W), 0..1, of an sRGB uint8 picture (H, W, 3)."""
    red, green, blue = (table[rgb[..., channel]] for channel, table in enumerate(_CHANNEL_LUMINANCE))
    return red + green + blue


def linear_of(rgb: np.ndarray) -> np.ndarray:
    """Return linear light, float32 of shape (H, W, 3), 0..1, of an sRGB uint8 picture of that shape."""
    return LINEAR_OF_BYTE[rgb]


def lightness_of(rgb: np.ndarray) -> np.ndarray:
    """Return L*, float32 of shape (H, W), 0..100, of an sRGB uint8 picture of shape (H, W, 3)."""
    luminance = luminance_of(rgb)
    return np.where(luminance > 216 / 24389, 116 * np.cbrt(luminance) - 16, luminance * np.float32(24389 / 27))

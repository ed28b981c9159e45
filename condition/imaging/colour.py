"""sRGB, linear light, L*a*b* and the CIEDE2000 colour difference.

Sources: IEC 61966-2-1:1999 (sRGB); CIE 15 (L*a*b*, D65 white); Sharma, Wu and Dalal, Color Research and
Application 30(1), 2005 (CIEDE2000, with the published test pairs).
"""

from __future__ import annotations

import numpy as np

STRIP_ROWS = 64
"""Rows worked on at a time: 64 rows of a 12 MP photo need about 25 MB where the whole would need gigabytes."""

_RGB_TO_XYZ = np.array(
    [[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750], [0.0193339, 0.1191920, 0.9503041]]
)
_D65 = _RGB_TO_XYZ.sum(axis=1)
_LAB_KNEE = (6 / 29) ** 3
_TO_THE_SEVENTH_25 = 25.0**7


def linear(coded: np.ndarray) -> np.ndarray:
    """Return linear light 0..1 of sRGB-coded values 0..1, any shape; float32 stays float32."""
    coded = np.asarray(coded)
    return np.where(coded <= 0.04045, coded / 12.92, ((np.maximum(coded, 0) + 0.055) / 1.055) ** 2.4)


def coded(linear_light: np.ndarray) -> np.ndarray:
    """Return sRGB-coded values 0..1 of linear light 0..1, any shape; the inverse of :func:`linear`."""
    light = np.asarray(linear_light)
    return np.where(light <= 0.0031308, 12.92 * light, 1.055 * np.maximum(light, 0) ** (1 / 2.4) - 0.055)


LINEAR_OF_BYTE = linear(np.arange(256) / 255).astype(np.float32)
"""Linear light of each 8-bit sRGB value, float32 of shape (256,)."""


def lab(rgb: np.ndarray) -> np.ndarray:
    """Return L*a*b* under D65.

    Parameters
    ----------
    rgb : (..., 3), uint8 sRGB 0..255 (answered in float32), or float sRGB 0..1 (answered in float64)

    Returns
    -------
    (..., 3): L* 0..100, a* and b* about -110..100.
    """
    if rgb.dtype == np.uint8 and rgb.ndim == 3:
        out = np.empty(rgb.shape, np.float32)
        for top in range(0, rgb.shape[0], STRIP_ROWS):
            out[top : top + STRIP_ROWS] = _lab_of_light(LINEAR_OF_BYTE[rgb[top : top + STRIP_ROWS]])
        return out
    return _lab_of_light(LINEAR_OF_BYTE[rgb] if rgb.dtype == np.uint8 else linear(rgb))


def _lab_of_light(light: np.ndarray) -> np.ndarray:
    matrix = (_RGB_TO_XYZ / _D65[:, None]).T.astype(light.dtype)
    ratio = light @ matrix
    root = np.where(ratio > _LAB_KNEE, np.cbrt(ratio), ratio * (841 / 108) + 4 / 29)
    x, y, z = root[..., 0], root[..., 1], root[..., 2]
    return np.stack([116 * y - 16, 500 * (x - y), 200 * (y - z)], axis=-1).astype(light.dtype)


def ciede2000(lab_one: np.ndarray, lab_two: np.ndarray) -> np.ndarray:
    """Return the CIEDE2000 difference of two L*a*b* arrays (kL = kC = kH = 1).

    Parameters
    ----------
    lab_one, lab_two : (..., 3), same shape or broadcast; float32 is answered in float32, all else in float64.
        Pictures (H, W, 3) are worked on in strips of rows.

    Source: Sharma, Wu and Dalal 2005, equations 2 to 22.
    """
    kind = np.float32 if lab_one.dtype == lab_two.dtype == np.float32 else np.float64
    one, two = np.broadcast_arrays(np.asarray(lab_one, kind), np.asarray(lab_two, kind))
    if one.ndim != 3:
        return _difference(one, two).astype(kind)
    out = np.empty(one.shape[:2], kind)
    for top in range(0, one.shape[0], STRIP_ROWS):
        rows = slice(top, top + STRIP_ROWS)
        out[rows] = _difference(one[rows], two[rows])
    return out


def _difference(one: np.ndarray, two: np.ndarray) -> np.ndarray:
    lightness_1, a_1, b_1 = np.moveaxis(one, -1, 0)
    lightness_2, a_2, b_2 = np.moveaxis(two, -1, 0)
    chroma_7 = ((np.hypot(a_1, b_1) + np.hypot(a_2, b_2)) / 2) ** 7
    stretch = 1 + 0.5 * (1 - np.sqrt(chroma_7 / (chroma_7 + _TO_THE_SEVENTH_25)))
    a_1, a_2 = a_1 * stretch, a_2 * stretch
    chroma_1, chroma_2 = np.hypot(a_1, b_1), np.hypot(a_2, b_2)
    hue_1 = np.degrees(np.arctan2(b_1, a_1)) % 360
    hue_2 = np.degrees(np.arctan2(b_2, a_2)) % 360
    grey = chroma_1 * chroma_2 == 0

    turn = hue_2 - hue_1
    turn = np.where(turn > 180, turn - 360, np.where(turn < -180, turn + 360, turn))
    turn = np.where(grey, 0, turn)
    d_lightness, d_chroma = lightness_2 - lightness_1, chroma_2 - chroma_1
    d_hue = 2 * np.sqrt(chroma_1 * chroma_2) * np.sin(np.radians(turn) / 2)

    hue_sum = hue_1 + hue_2
    wrapped = np.where(hue_sum < 360, hue_sum + 360, hue_sum - 360)
    mean_hue = np.where(np.abs(hue_1 - hue_2) <= 180, hue_sum, wrapped) / 2
    mean_hue = np.where(grey, hue_sum, mean_hue)
    mean_lightness, mean_chroma = (lightness_1 + lightness_2) / 2, (chroma_1 + chroma_2) / 2

    weight = (
        1
        - 0.17 * np.cos(np.radians(mean_hue - 30))
        + 0.24 * np.cos(np.radians(2 * mean_hue))
        + 0.32 * np.cos(np.radians(3 * mean_hue + 6))
        - 0.20 * np.cos(np.radians(4 * mean_hue - 63))
    )
    off_middle = (mean_lightness - 50) ** 2
    scale_lightness = 1 + 0.015 * off_middle / np.sqrt(20 + off_middle)
    scale_chroma = 1 + 0.045 * mean_chroma
    scale_hue = 1 + 0.015 * mean_chroma * weight
    mean_chroma_7 = mean_chroma**7
    rotation = -2 * np.sqrt(mean_chroma_7 / (mean_chroma_7 + _TO_THE_SEVENTH_25))
    rotation = rotation * np.sin(np.radians(60 * np.exp(-(((mean_hue - 275) / 25) ** 2))))
    by_lightness, by_chroma, by_hue = d_lightness / scale_lightness, d_chroma / scale_chroma, d_hue / scale_hue
    return np.sqrt(np.maximum(by_lightness**2 + by_chroma**2 + by_hue**2 + rotation * by_chroma * by_hue, 0))

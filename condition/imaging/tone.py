"""Bring a return photo to the intake photo's light, from the surface that did not change; no chart needed.

Per channel ``ln before = alpha ln after + beta`` in linear light, by iteratively reweighted least squares with Tukey's
weights (Huber, Robust Statistics, 1981); then a slow gain over the picture for lamps that stand elsewhere.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from condition.imaging.colour import LINEAR_OF_BYTE, coded

REDUCED_BY = 8
CLIPPED, NEAR_BLACK = 247, 6
"""8-bit levels that tell nothing of the light: at the stop, and lost in the dark."""
STOP = 245
"""From here up a channel may have been cut off: sharpening and the file's compression leave it not quite at 255."""
TUKEY_C = 4.685
SLOPE_SPREAD = 0.35
"""How far two cameras' curves differ at most, in ln per ln: holds the slope where a surface has one lightness only."""
SLOW_SHARE = 1 / 14
"""Standard deviation of the slow gain's blur over the longer side."""
STRIP_ROWS = 256


@dataclass(frozen=True, slots=True, eq=False)
class Tone:
    """slopes, offsets : (3,), natural logarithms of linear light; gain : float32 (h, w, 3), a further ln to add, over
    the whole picture at a reduced size; unevenness : how far it goes apart over the compared surface, 10th to 90th
    percentile: a hundredth where only the camera's settings changed, a twentieth and more where the lamps did"""

    slopes: np.ndarray
    offsets: np.ndarray
    gain: np.ndarray
    unevenness: float = 0.0


def fitted_tone(before: np.ndarray, laid: np.ndarray, usable: np.ndarray) -> Tone:
    """Find what brings ``laid`` to the light of ``before``.

    Parameters
    ----------
    before, laid : uint8 (H, W, 3), sRGB, one frame
    usable : bool (H, W), where both show the instrument
    """
    height, width = usable.shape
    by = REDUCED_BY if max(height, width) > 1000 else 4
    size = (max(2, width // by), max(2, height // by))
    one, other = (cv2.resize(picture, size, interpolation=cv2.INTER_AREA) for picture in (before, laid))
    sound = cv2.resize(usable.astype(np.float32), size, interpolation=cv2.INTER_AREA) > 0.99
    for picture in (one, other):
        sound &= (picture.max(2) < CLIPPED) & (picture.min(2) > NEAR_BLACK)
    if sound.sum() < 50:
        return Tone(np.ones(3), np.zeros(3), np.zeros((2, 2, 3), np.float32))
    log_one, log_other = np.log(np.maximum(LINEAR_OF_BYTE[one], 1e-4)), np.log(np.maximum(LINEAR_OF_BYTE[other], 1e-4))
    lines = [_line(log_other[..., c][sound], log_one[..., c][sound]) for c in range(3)]
    slopes, offsets = np.array(lines).T
    rest = log_one - (log_other * slopes + offsets)
    gain = _slow(rest.astype(np.float32), sound, SLOW_SHARE * max(size))
    return Tone(slopes, offsets, gain, float(np.ptp(np.percentile(gain.mean(2)[sound], (10, 90)))))


def _line(x: np.ndarray, y: np.ndarray) -> tuple[float, float]:
    """Robust slope and offset of y over x, the slope held to 1 where x hardly varies."""
    slope, offset = 1.0, float(np.median(y - x))
    for _ in range(25):
        rest = y - slope * x - offset
        scale = max(1.4826 * float(np.median(np.abs(rest - np.median(rest)))), 1e-3)
        weight = np.clip(1 - (rest / (TUKEY_C * scale)) ** 2, 0, None) ** 2
        total = weight.sum()
        if total < 10:
            break
        mean_x, mean_y = (weight * x).sum() / total, (weight * y).sum() / total
        dx, dy = x - mean_x, y - mean_y
        hold = total * scale**2 / SLOPE_SPREAD**2
        new = float(((weight * dx * dy).sum() + hold / 50) / ((weight * dx * dx).sum() + hold / 50))
        moved = abs(new - slope)
        slope, offset = new, float(mean_y - new * mean_x)
        if moved < 1e-5:
            break
    return slope, offset


def _slow(rest: np.ndarray, sound: np.ndarray, sigma: float) -> np.ndarray:
    """The slow part of what is left, (h, w, 3), cells that stand out of it weighted down."""
    weight = sound.astype(np.float32)
    slow = np.zeros_like(rest)
    for _ in range(4):
        share = cv2.GaussianBlur(weight, (0, 0), sigma) + 1e-4
        slow = np.dstack([cv2.GaussianBlur(rest[..., c] * weight, (0, 0), sigma) / share for c in range(3)])
        away = np.abs(rest - slow).max(2)
        scale = max(1.4826 * float(np.median(away[sound])), 0.01)
        weight = sound * np.clip(1 - (away / (3 * scale)) ** 2, 0, None).astype(np.float32) ** 2
    return slow


def in_light_of(laid: np.ndarray, tone: Tone) -> np.ndarray:
    """The return photo, uint8 (H, W, 3), in the intake photo's light, uint8 of the same shape."""
    height, width = laid.shape[:2]
    out = np.empty_like(laid)
    logs = np.log(np.maximum(LINEAR_OF_BYTE, 1e-4)).astype(np.float32)
    curve = (coded(np.linspace(0, 1, 4096)) * 255 + 0.5).astype(np.uint8)
    rows, columns = tone.gain.shape[:2]
    for top in range(0, height, STRIP_ROWS):
        bottom = min(top + STRIP_ROWS, height)
        y = (np.arange(top, bottom, dtype=np.float32) + 0.5) * rows / height - 0.5
        x = (np.arange(width, dtype=np.float32) + 0.5) * columns / width - 0.5
        map_x, map_y = np.meshgrid(x, y)
        gain = cv2.remap(tone.gain, map_x, map_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        for c in range(3):
            light = (
                np.float32(tone.slopes[c]) * logs[laid[top:bottom, :, c]] + np.float32(tone.offsets[c]) + gain[..., c]
            )
            level = np.clip(cv2.exp(light) * 4095, 0, 4095).astype(np.uint16)
            out[top:bottom, :, c] = curve[level]
    return out


def certain_only(before: np.ndarray, laid: np.ndarray, relit: np.ndarray) -> np.ndarray:
    """``relit`` where it says something, else ``before``; all uint8 (H, W, 3).

    A channel at its stop is at least that bright: a difference that this may explain is none.
    """
    out = relit.copy()
    for channel in range(3):
        one, seen, two = before[..., channel], laid[..., channel], out[..., channel]
        two[...] = np.where(((one >= STOP) & (two > one)) | ((seen >= STOP) & (two < one)), one, two)
    return out

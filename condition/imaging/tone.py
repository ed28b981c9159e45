"""Bring a return photo to the intake photo's light, from the surface that did not change; no chart needed.

Per channel ``ln before = alpha ln after + beta`` in linear light, and a slight bend of that line, by iteratively
reweighted least squares with Tukey's weights (Huber, Robust Statistics, 1981); then a slow gain over the picture for
lamps that stand elsewhere.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache

import cv2
import numpy as np

from condition.imaging.colour import LINEAR_OF_BYTE, coded

REDUCED_BY = 8
CLIPPED, NEAR_BLACK = 247, 6
"""8-bit levels that tell nothing of the light: at the stop, and lost in the dark."""
NEAR_PX = 3
"""What is cut off spills over so far where the picture was resampled and compressed."""
TUKEY_C = 4.685
SLOPE_SPREAD = 0.35
"""How far two cameras' curves differ at most, in ln per ln: holds the slope where a surface has one lightness only."""
BEND_SPREAD = 1.0
"""As that, per ln of the coded value: two cameras' curves differ in the darks."""
RARE = 0.01
"""Share of all samples below which a sixteenth of the levels counts for less than the others."""
SLOW_SHARE = 1 / 14
"""Standard deviation of the slow gain's blur over the longer side."""
STRIP_ROWS = 256


@dataclass(frozen=True, slots=True, eq=False)
class Tone:
    """slopes, offsets : (3,), natural logarithms of linear light; gain : float32 (h, w, 3), a further ln to add, over
    the whole picture at a reduced size; unevenness : how far it goes apart over the compared surface, 10th to 90th
    percentile: a hundredth where only the camera's settings changed, a twentieth and more where the lamps did; bends :
    (3,), of what :func:`bend_of_byte` says is to be added for each 8-bit level"""

    slopes: np.ndarray
    offsets: np.ndarray
    gain: np.ndarray
    unevenness: float = 0.0
    bends: np.ndarray = field(default_factory=lambda: np.zeros(3))


@cache
def bend_of_byte() -> np.ndarray:
    """ln of each coded level, (256,), less its best line over ln of the linear light: 0 on the whole."""
    levels = np.clip(np.arange(256), NEAR_BLACK, 255)
    x, bent = np.log(np.maximum(LINEAR_OF_BYTE[levels], 1e-4)).astype(float), np.log(levels / 255)
    return (bent - np.polyval(np.polyfit(x[NEAR_BLACK:], bent[NEAR_BLACK:], 1), x)).astype(np.float32)


def fitted_tone(before: np.ndarray, laid: np.ndarray, usable: np.ndarray, straight: bool = False) -> Tone:
    """Find what brings ``laid`` to the light of ``before``.

    Parameters
    ----------
    before, laid : uint8 (H, W, 3), sRGB, one frame
    usable : bool (H, W), where both show the instrument
    straight : no bend, for whoever keeps slopes and offsets only

    A channel at its stop says nothing there; the others do.
    """
    height, width = usable.shape
    by = REDUCED_BY if max(height, width) > 1000 else 4
    size = (max(2, width // by), max(2, height // by))
    one, other = (cv2.resize(picture, size, interpolation=cv2.INTER_AREA) for picture in (before, laid))
    whole = cv2.resize(usable.astype(np.float32), size, interpolation=cv2.INTER_AREA) > 0.99
    sound = np.empty(one.shape, bool)
    for channel in range(3):
        cut = ((before[..., channel] >= CLIPPED) | (laid[..., channel] >= CLIPPED)).astype(np.uint8)
        cut = cv2.resize(cv2.dilate(cut, np.ones((2 * NEAR_PX + 1,) * 2)), size, interpolation=cv2.INTER_AREA) > 0
        dark = np.minimum(one[..., channel], other[..., channel]) <= NEAR_BLACK
        sound[..., channel] = whole & ~cut & ~dark
    if sound.sum((0, 1)).min() < 50:
        return Tone(np.ones(3), np.zeros(3), np.zeros((2, 2, 3), np.float32))
    log_one, log_other = np.log(np.maximum(LINEAR_OF_BYTE[one], 1e-4)), np.log(np.maximum(LINEAR_OF_BYTE[other], 1e-4))
    bent = np.zeros_like(log_other) if straight else bend_of_byte()[other]
    lines = []
    for c in range(3):
        x, bend, y, levels = (values[..., c][sound[..., c]] for values in (log_other, bent, log_one, other))
        lines.append(_line(x, bend, y, _share_of(levels)))
    slopes, offsets, bends = np.array(lines).T
    rest = log_one - (log_other * slopes + offsets + bent * bends)
    gain = _slow(rest.astype(np.float32), sound, SLOW_SHARE * max(size))
    seen = sound.all(2) if sound.all(2).sum() > 50 else sound.any(2)
    return Tone(slopes, offsets, gain, float(np.ptp(np.percentile(gain.mean(2)[seen], (10, 90)))), bends)


def _share_of(levels: np.ndarray) -> np.ndarray:
    """How much each sample counts, mean 1: rare levels for more, or a bright part on a dark face would have the light
    that the dark one extrapolates to."""
    steps = levels >> 4
    share = 1 / (np.bincount(steps, minlength=16) + RARE * len(levels))[steps]
    return share / share.mean()


def _line(x: np.ndarray, bent: np.ndarray, y: np.ndarray, share: np.ndarray) -> tuple[float, float, float]:
    """Robust slope, offset and bend of y over x, slope and bend held to 1 and 0 where x hardly varies.

    share : how much each counts
    """
    terms = np.column_stack([x, bent]).astype(float)
    found, offset = np.array([1.0, 0.0]), float(np.median(y - x))
    for _ in range(25):
        rest = y - terms @ found - offset
        scale = max(1.4826 * float(np.median(np.abs(rest - np.median(rest)))), 1e-3)
        weight = share * np.clip(1 - (rest / (TUKEY_C * scale)) ** 2, 0, None) ** 2
        total = weight.sum()
        if total < 10:
            break
        mean, mean_y = weight @ terms / total, float(weight @ y) / total
        away, weighted = terms - mean, (terms - mean) * weight[:, None]
        hold = total * scale**2 / 50 / np.array([SLOPE_SPREAD, BEND_SPREAD]) ** 2
        new = np.linalg.solve(weighted.T @ away + np.diag(hold), weighted.T @ (y - mean_y) + hold * (1.0, 0.0))
        moved = float(np.abs(new - found).max())
        found, offset = new, mean_y - float(mean @ new)
        if moved < 1e-5:
            break
    return float(found[0]), offset, float(found[1])


def _slow(rest: np.ndarray, sound: np.ndarray, sigma: float) -> np.ndarray:
    """The slow part of what is left, (h, w, 3), cells that stand out of it weighted down."""
    weight = sound.astype(np.float32)
    slow = np.zeros_like(rest)
    for _ in range(4):
        share = cv2.GaussianBlur(weight, (0, 0), sigma) + 1e-4
        slow = cv2.GaussianBlur(rest * weight, (0, 0), sigma) / share
        away = np.where(sound, np.abs(rest - slow), 0).max(2)
        scale = max(1.4826 * float(np.median(away[sound.any(2)])), 0.01)
        weight = sound * (np.clip(1 - (away / (3 * scale)) ** 2, 0, None).astype(np.float32) ** 2)[..., None]
    return slow


def in_light_of(laid: np.ndarray, tone: Tone) -> np.ndarray:
    """The return photo, uint8 (H, W, 3), in the intake photo's light, uint8 of the same shape."""
    height, width = laid.shape[:2]
    out = np.empty_like(laid)
    logs = np.log(np.maximum(LINEAR_OF_BYTE, 1e-4)).astype(np.float32)
    tables = [(tone.slopes[c] * logs + tone.offsets[c] + tone.bends[c] * bend_of_byte()).astype(np.float32)
              for c in range(3)]  # fmt: skip
    curve = (coded(np.linspace(0, 1, 4096)) * 255 + 0.5).astype(np.uint8)
    rows, columns = tone.gain.shape[:2]
    for top in range(0, height, STRIP_ROWS):
        bottom = min(top + STRIP_ROWS, height)
        y = (np.arange(top, bottom, dtype=np.float32) + 0.5) * rows / height - 0.5
        x = (np.arange(width, dtype=np.float32) + 0.5) * columns / width - 0.5
        map_x, map_y = np.meshgrid(x, y)
        gain = cv2.remap(tone.gain, map_x, map_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        for c in range(3):
            light = tables[c][laid[top:bottom, :, c]] + gain[..., c]
            level = np.clip(cv2.exp(light) * 4095, 0, 4095).astype(np.uint16)
            out[top:bottom, :, c] = curve[level]
    return out


def level_in_light_of(level: int, tone: Tone, shape: tuple[int, ...]) -> np.ndarray:
    """What one 8-bit level of the return photo is in the intake photo's light, uint8 of the shape (H, W, 3)."""
    logs = np.log(max(float(LINEAR_OF_BYTE[level]), 1e-4))
    light = np.exp(tone.slopes * logs + tone.offsets + tone.bends * bend_of_byte()[level] + tone.gain)
    small = (coded(np.clip(light, 0, 1)) * 255).astype(np.float32)
    full = cv2.resize(small, shape[1::-1], interpolation=cv2.INTER_LINEAR)
    return np.rint(full).astype(np.uint8)

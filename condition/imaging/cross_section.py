"""The width of a crack or seam across its path, from its mean profile in linear light: a blurred box on sloping ground.

What a lens blurs cannot be told apart from what is narrow: below :data:`LEAST_PX`, or 2.4 times the blur, only a bound
is given (the blurred profile's own width, which the crack cannot exceed).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from condition.imaging.edges import Window, window_of

STEP_PX = 0.25
LEAST_PX = 3.0
BLUR_MULTIPLE = 2.4
GROUP = 15
"""Stations, one a pixel along the path, whose profiles are averaged before one width is read."""
LEAST_DEPTH = 0.06
"""Least depth of a profile, as a share of the ground's light, for a crack to show at all."""
PLAIN_SHARE = 0.6
TOLD_SHARE = 0.1
"""Largest standard uncertainty, as a share of the width, when width and blur are fitted together: beyond it the profile
could as well be that of a narrower crack more blurred."""


@dataclass(frozen=True, slots=True)
class CrossSection:
    """Widths in px, measured across the path.

    mean_px, mean_sd_px : along the whole path, and what noise and grain leave uncertain
    widest_px, widest_sd_px : the widest stretch of :data:`GROUP` px
    bound_px : with ``bound`` the crack is narrower than this, and the others are 0
    """

    mean_px: float
    mean_sd_px: float
    widest_px: float
    widest_sd_px: float
    blur_px: float
    bound: bool
    bound_px: float


def cross_section(rgb: np.ndarray, path_px: np.ndarray, reach_px: float = 14.0) -> CrossSection | None:
    """Measure across a path that follows a crack within a few pixels; None where no crack shows along it.

    Parameters
    ----------
    rgb : upright photo, uint8 (H, W, 3)
    path_px : (N, 2) along the crack
    reach_px : how far to each side the ground is looked at; grows for wide cracks
    """
    window = window_of(rgb, path_px, reach_px + 10)
    path = np.asarray(path_px, float)
    for _ in range(2):
        places, across, strip, offsets = _strip(window, path, reach_px)
        if strip is None:
            return None
        sign = _sign(strip, offsets)
        centre = _centre(strip * sign, offsets)
        path = places + centre[:, None] * across
    strip = _aligned(strip * sign, offsets, centre)
    mean = _mean(strip)
    whole = _box_fit(mean, offsets, None, sign)
    if whole is None:
        return None if reach_px >= 60 else cross_section(rgb, path_px, 2.5 * reach_px)
    if whole.width > 0.8 * reach_px and reach_px < 60:
        return cross_section(rgb, path_px, 2.5 * reach_px)
    resolved = whole.width >= max(LEAST_PX, BLUR_MULTIPLE * whole.blur) and whole.sd <= TOLD_SHARE * whole.width
    groups = np.array_split(strip, max(1, len(strip) // GROUP))
    fits = [_box_fit(_mean(group), offsets, whole.blur, sign) for group in groups]
    seen = [fit for fit in fits if fit is not None]
    if len(seen) < PLAIN_SHARE * len(groups):
        return None
    if not resolved:
        halves = np.array([fit.half for fit in seen])
        return CrossSection(0.0, 0.0, 0.0, 0.0, whole.blur, True, float(np.percentile(halves, 95)))
    widths = np.array([fit.width for fit in seen])
    noise = float(np.median([fit.sd for fit in seen]))
    kept = np.abs(widths - np.median(widths)) < 6 * max(1.4826 * np.median(np.abs(widths - np.median(widths))), noise)
    scatter = max(noise, float(widths[kept].std())) / math.sqrt(max(int(kept.sum()), 1))
    mean_sd = math.hypot(scatter, whole.sd)
    widest = float(np.sort(widths[kept])[-1])
    surplus = noise * math.sqrt(2 * math.log(max(len(seen), 1) + 1)) * 0.7
    spread = float(widths[kept].std())
    if spread <= 1.3 * noise:
        widest, surplus = float(widths[kept].mean()) + noise, 0.0
    return CrossSection(
        float(widths[kept].mean()),
        mean_sd,
        max(widest - surplus, float(widths[kept].mean())),
        noise,
        whole.blur,
        False,
        0.0,
    )


def _strip(window: Window, path: np.ndarray, reach: float):
    """Light across the path at stations one pixel apart, the ends left out.

    Returns (places (n, 2), across (n, 2), strip (n, m) or None, offsets (m,)).
    """
    offsets = np.arange(-int(reach / STEP_PX), int(reach / STEP_PX) + 1) * STEP_PX
    steps = np.hypot(*np.diff(path, axis=0).T)
    along = np.append(0.0, np.cumsum(steps))
    if along[-1] < 8:
        return path, path, None, offsets
    skip = min(3.0, 0.1 * along[-1])
    at = np.arange(skip, along[-1] - skip, 1.0)

    def place(run: np.ndarray) -> np.ndarray:
        return np.column_stack([np.interp(run, along, path[:, axis]) for axis in (0, 1)])

    places, ahead = place(at), place(at + 6) - place(at - 6)
    ahead /= np.maximum(np.hypot(*ahead.T), 1e-9)[:, None]
    across = np.column_stack([-ahead[:, 1], ahead[:, 0]])
    strip = window.sample(places[:, None, :] + offsets[None, :, None] * across[:, None, :])
    seen = np.isfinite(strip).all(1)
    return places[seen], across[seen], (strip[seen] if seen.sum() >= 6 else None), offsets


def _sign(strip: np.ndarray, offsets: np.ndarray) -> float:
    """1 for a crack darker than its ground, -1 for a lighter one."""
    near = np.abs(offsets) < 3
    middle = np.nanmean(strip[:, near], axis=0)
    ground = float(np.nanmedian(strip[:, ~near]))
    return 1.0 if ground - middle.min() >= middle.max() - ground else -1.0


def _centre(strip: np.ndarray, offsets: np.ndarray, search_px: float = 5.0) -> np.ndarray:
    """The offset (n,) of the crack's middle at every station, followed smoothly along the path."""
    reach = np.abs(offsets) <= search_px
    kernel = np.ones(9) / 9
    padded = np.pad(strip, ((4, 4), (0, 0)), mode="edge")
    smooth = np.stack([np.convolve(padded[:, k], kernel, "valid") for k in range(strip.shape[1])], 1)
    ground = np.median(smooth, axis=1, keepdims=True)
    dip = np.clip(ground - smooth, 0, None)
    dip = np.where(dip > 0.5 * dip[:, reach].max(1, keepdims=True), dip, 0) * reach
    centre = (dip * offsets).sum(1) / np.maximum(dip.sum(1), 1e-9)
    wide = min(31, len(centre) // 2 * 2 - 1)
    if wide >= 3:
        centre = np.convolve(np.pad(centre, wide // 2, mode="edge"), np.ones(wide) / wide, "valid")
    return centre


def _aligned(strip: np.ndarray, offsets: np.ndarray, centre: np.ndarray) -> np.ndarray:
    """Every station shifted so that the crack's middle is in the middle; NaN beyond what was seen."""
    return np.stack(
        [np.interp(offsets + c, offsets, row, left=np.nan, right=np.nan) for c, row in zip(centre, strip, strict=True)]
    )


def _mean(strip: np.ndarray) -> np.ndarray:
    """Mean profile (m,); NaN where fewer than half of the stations saw anything."""
    seen = np.isfinite(strip)
    count = seen.sum(0)
    return np.where(2 * count >= len(strip), np.where(seen, strip, 0.0).sum(0) / np.maximum(count, 1), np.nan)


@dataclass(frozen=True, slots=True)
class _Box:
    width: float
    blur: float
    half: float
    sd: float


def _box_fit(profile: np.ndarray, offsets: np.ndarray, blur: float | None, sign: float) -> _Box | None:
    from scipy.optimize import least_squares
    from scipy.special import ndtr

    known = np.isfinite(profile)
    if known.sum() < 20:
        return None
    x, seen = offsets[known], profile[known]
    outer = np.abs(x) > 0.6 * x.max()
    slope, level = np.polyfit(x[outer], seen[outer], 1)
    dip = level + slope * x - seen
    near = np.abs(x) <= 0.5 * x.max()
    depth = float(dip[near].max())
    noise = float(np.std(dip[outer])) + 1e-5
    if depth < LEAST_DEPTH * abs(level) or depth < 3 * noise:
        return None
    top = int(np.flatnonzero(near)[np.argmax(dip[near])])
    half = _half_width(x, dip, top, depth / 2)

    def model(values: np.ndarray) -> np.ndarray:
        deep, middle, width, lift, tilt = values[:5]
        sigma = blur if blur is not None else values[5]
        box = ndtr((x - middle + width / 2) / sigma) - ndtr((x - middle - width / 2) / sigma)
        return (deep * box + lift + tilt * x - dip) / depth

    start = [1.05 * depth, x[top], max(half, 0.8), 0.0, 0.0]
    low, high = [0, -6, 0.3, -1, -1], [5 * abs(level) + 1, 6, 2 * x.max(), 1, 1]
    if blur is None:
        start, low, high = [*start, 0.9], [*low, 0.35], [*high, 4.0]
    start = list(np.clip(start, np.array(low) + 1e-6, np.array(high) - 1e-6))
    fitted = least_squares(
        model, start, bounds=(low, high), x_scale=[depth, 1, 1, depth, depth / 5, 1][: len(start)],
        loss="soft_l1", f_scale=max(2 * noise / depth, 0.01),
    )  # fmt: skip
    freedom = max(len(x) * STEP_PX - len(start), 1.0)
    rest = float(np.sqrt((model(fitted.x) ** 2).sum() * STEP_PX / freedom))
    try:
        covariance = np.linalg.inv(fitted.jac.T @ fitted.jac * STEP_PX)
    except np.linalg.LinAlgError:
        return None
    sd = rest * math.sqrt(abs(float(covariance[2, 2])))
    return _Box(float(fitted.x[2]), float(fitted.x[5]) if blur is None else blur, half, sd)


def _half_width(x: np.ndarray, dip: np.ndarray, top: int, level: float) -> float:
    left = right = top
    while left > 0 and dip[left] > level:
        left -= 1
    while right < len(dip) - 1 and dip[right] > level:
        right += 1
    return float(x[right] - x[left])

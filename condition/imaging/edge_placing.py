"""Place a photo on another of the same face by where their edges lie: for light so different that no patch looks alike.

Both pictures are laid flat at one scale, their edges correlated at every shift for a series of turns, masks included,
then again finer around the best. Source: masked normalised cross-correlation, Padfield, IEEE TIP 21(5), 2012.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from scipy import fft

from condition.imaging.card_cover import covered_by
from condition.imaging.plane import to_mm, to_px
from condition.records.placing import Placing
from condition.records.plane import PhotoPlane, SizeCard
from condition.records.shapes import Ring

COARSE_SIDE, FINE_SIDE = 240, 720
"""Cells along the longer side of the larger picture."""
NEAR_TURN, NEAR_STEP, ROUND_STEP = 12.0, 1.5, 3.0
"""Degrees: a face is mostly photographed the same way up; if nothing fits there, all round."""
LEAST_SCORE = 0.22
LEAST_LEAD = 1.2
"""Over the next best place elsewhere. Photos of different faces lead by at most 1.1 (measured)."""
LEAST_OVERLAP = 0.3
ELSEWHERE_SHARE = 0.04
"""What counts as elsewhere, over the longer side."""


@dataclass(frozen=True, slots=True, eq=False)
class _Flat:
    """Edges and where they are known, float32 (H, W), with the corner and the size of a cell in the flat unit."""

    edges: np.ndarray
    known: np.ndarray
    corner: np.ndarray
    step: float


@dataclass(frozen=True, slots=True)
class _Fit:
    score: float
    lead: float
    degrees: float
    shift: tuple[float, float]
    overlap: float


def placed_by_edges(
    photo: np.ndarray,
    base: np.ndarray,
    photo_cards: Sequence[SizeCard],
    base_cards: Sequence[SizeCard],
    planes: tuple[PhotoPlane, PhotoPlane] | None,
    outline_px: Ring | None = None,
) -> Placing | None:
    """Return the placing that the edges give, or None when no place stands out.

    Parameters
    ----------
    planes : of photo and base; without them both are taken to be of one camera at one distance, and pixels serve
    outline_px : of the face in the base photo: what lies outside takes no part
    """
    plane, base_plane = planes or (None, None)
    side = max(_extent(photo, plane).max(), _extent(base, base_plane, outline_px).max())

    def flat(step: float) -> tuple[_Flat, _Flat]:
        return (_flat(photo, photo_cards, plane, step), _flat(base, base_cards, base_plane, step, outline_px))

    coarse = flat(side / COARSE_SIDE)
    near = np.arange(-NEAR_TURN, NEAR_TURN + 0.1, NEAR_STEP)
    best = _best(*coarse, near)
    if planes and not _sure(best):
        best = _best(*coarse, np.arange(-180.0, 180.0, ROUND_STEP))
    if best is None or best.score < LEAST_SCORE * 0.6:
        return None
    fine = flat(side / FINE_SIDE)
    best = _best(*fine, best.degrees + np.arange(-1.5, 1.6, 0.5))
    if not _sure(best):
        return None
    best = _best(*fine, best.degrees + np.arange(-0.3, 0.31, 0.1)) or best
    turn = np.radians(best.degrees)
    matrix = np.array([[np.cos(turn), -np.sin(turn), best.shift[0]], [np.sin(turn), np.cos(turn), best.shift[1]],
                       [0, 0, 1]])  # fmt: skip
    return Placing(
        "edges",
        tuple(float(v) for v in matrix.ravel()),
        in_mm=planes is not None,
        residual_mm=float(fine[1].step) if planes else None,
        supports=1,
        seen=min(1.0, best.overlap),
    )


def _sure(fit: _Fit | None) -> bool:
    return fit is not None and fit.score >= LEAST_SCORE and fit.lead >= LEAST_LEAD


def _corners(picture: np.ndarray, plane: PhotoPlane | None, outline_px: Ring | None) -> np.ndarray:
    height, width = picture.shape[:2]
    if outline_px is not None:
        places = np.array(outline_px.points)
    else:
        places = np.array([(x * width / 8, y * height / 8) for x in range(9) for y in range(9)])
    seen = to_mm(places, plane) if plane else places
    return seen[np.isfinite(seen).all(1)]


def _extent(picture: np.ndarray, plane: PhotoPlane | None, outline_px: Ring | None = None) -> np.ndarray:
    return np.ptp(_corners(picture, plane, outline_px), axis=0)


def _flat(
    picture: np.ndarray,
    cards: Sequence[SizeCard],
    plane: PhotoPlane | None,
    step: float,
    outline_px: Ring | None = None,
) -> _Flat:
    seen = _corners(picture, plane, outline_px)
    margin = 6 * step if outline_px is not None else 0.0
    low, high = seen.min(0) - margin, seen.max(0) + margin
    columns, rows = np.maximum(8, np.ceil((high - low) / step).astype(int))
    x, y = np.meshgrid(low[0] + (np.arange(columns) + 0.5) * step, low[1] + (np.arange(rows) + 0.5) * step)
    places = np.column_stack([x.ravel(), y.ravel()])
    px = (to_px(places, plane) if plane else places).reshape(rows, columns, 2) - 0.5
    height, width = picture.shape[:2]
    inside = (px >= 1).all(2) & (px[..., 0] < width - 2) & (px[..., 1] < height - 2)
    across = float(np.median(np.hypot(*np.moveaxis(np.diff(px, axis=1), -1, 0))))
    soft = cv2.GaussianBlur(picture, (0, 0), max(0.5, 0.45 * across))
    laid = cv2.remap(soft, px.astype(np.float32), None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    out = covered_by(cards, height, width)
    if outline_px is not None:
        out |= ~_widened(outline_px, height, width, 5 * across)
    hidden = cv2.remap(out.astype(np.uint8), px.astype(np.float32), None, cv2.INTER_NEAREST, borderValue=1)
    known = inside & (cv2.dilate(hidden, np.ones((5, 5), np.uint8)) == 0)
    return _Flat(_edges(laid) * known, known.astype(np.float32), low, step)


def _widened(ring: Ring, height: int, width: int, by_px: float) -> np.ndarray:
    mask = np.zeros((height, width), np.uint8)
    places = np.round(np.array(ring.points) - 0.5).astype(np.int32)
    cv2.fillPoly(mask, [places], 1)
    cv2.polylines(mask, [places], True, 1, max(1, round(2 * by_px)))
    return mask.astype(bool)


def _edges(rgb: np.ndarray) -> np.ndarray:
    """How steep each place is, in whichever colour it is steepest, evened out so that no single edge outweighs all."""
    tone = np.log1p(rgb.astype(np.float32))
    steep = np.zeros(rgb.shape[:2], np.float32)
    for channel in cv2.split(tone):
        dx, dy = cv2.Sobel(channel, cv2.CV_32F, 1, 0), cv2.Sobel(channel, cv2.CV_32F, 0, 1)
        steep = np.maximum(steep, np.hypot(dx, dy))
    around = cv2.GaussianBlur(steep, (0, 0), 12)
    even = steep / (around + 0.25 * float(steep.mean()) + 1e-6)
    return cv2.GaussianBlur(np.minimum(even, 4.0), (0, 0), 0.8)


def _best(photo: _Flat, base: _Flat, turns: np.ndarray) -> _Fit | None:
    """The best turn and shift of the photo's edges over the base's."""
    rows, columns = photo.edges.shape
    side = int(np.ceil(np.hypot(rows, columns))) + 2
    shape = tuple(fft.next_fast_len(side + n, real=True) for n in base.edges.shape)
    theirs = [fft.rfft2(part, shape) for part in (_centred(base), base.known)]
    theirs.append(fft.rfft2(_centred(base) ** 2, shape))
    best: _Fit | None = None
    for degrees in turns:
        turned, known, move = _turned(photo, float(degrees), side)
        score, overlap = _scores(turned, known, theirs, shape, base.known.sum())
        row, column = np.unravel_index(int(score.argmax()), score.shape)
        top = float(score[row, column])
        if best is None or top > best.score:
            shift = _shift(score, row, column, shape, base.edges.shape, side)
            away = _elsewhere(score, row, column, shape)
            best = _Fit(top, top / max(away, 1e-6), float(degrees), _in_unit(shift, move, photo, base),
                        float(overlap[row, column] / max(known.sum(), 1)))  # fmt: skip
    return best


def _centred(flat: _Flat) -> np.ndarray:
    mean = flat.edges.sum() / max(flat.known.sum(), 1)
    return (flat.edges - mean) * flat.known


def _turned(photo: _Flat, degrees: float, side: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """The photo's edges turned about their middle into a square, and the 2 x 3 move (cells) that did it."""
    rows, columns = photo.edges.shape
    turn = np.radians(degrees)
    move = np.array([[np.cos(turn), -np.sin(turn), 0.0], [np.sin(turn), np.cos(turn), 0.0]])
    move[:, 2] = side / 2 - move[:, :2] @ (columns / 2, rows / 2)
    at_centres = move.copy()
    at_centres[:, 2] += move[:, :2] @ (0.5, 0.5) - 0.5
    known = cv2.warpAffine(photo.known, at_centres, (side, side), flags=cv2.INTER_NEAREST)
    return cv2.warpAffine(_centred(photo), at_centres, (side, side)) * known, known, move


def _scores(turned, known, theirs, shape, whole) -> tuple[np.ndarray, np.ndarray]:
    ours = [fft.rfft2(part, shape).conj() for part in (turned, known, turned**2)]
    centred, mask, squared = theirs
    together = fft.irfft2(centred * ours[0], shape)
    overlap = fft.irfft2(mask * ours[1], shape)
    energy = fft.irfft2(squared * ours[1], shape) * fft.irfft2(mask * ours[2], shape)
    least = LEAST_OVERLAP * min(known.sum(), whole)
    score = np.where(overlap > least, together / np.sqrt(np.maximum(energy, 1e-6)), 0.0)
    return score, overlap


def _elsewhere(score: np.ndarray, row: int, column: int, shape: tuple[int, int]) -> float:
    reach = max(3, round(ELSEWHERE_SHARE * max(shape)))
    rows = np.abs((np.arange(shape[0]) - row + shape[0] // 2) % shape[0] - shape[0] // 2)
    columns = np.abs((np.arange(shape[1]) - column + shape[1] // 2) % shape[1] - shape[1] // 2)
    return float(score[(rows[:, None] > reach) | (columns[None, :] > reach)].max())


def _shift(score, row, column, shape, base_shape, side) -> np.ndarray:
    """The peak's shift in cells (x, y), between cells by a parabola, negative shifts unwrapped."""
    shift = []
    for axis, at in ((1, column), (0, row)):
        line = score[row, :] if axis == 1 else score[:, column]
        before, here, after = line[at - 1], line[at], line[(at + 1) % len(line)]
        bow = before - 2 * here + after
        part = 0.5 * (before - after) / bow if bow < 0 else 0.0
        place = at + float(np.clip(part, -0.5, 0.5))
        shift.append(place - shape[axis] if place >= base_shape[axis] else place)
    return np.array(shift)


def _in_unit(shift, move, photo: _Flat, base: _Flat) -> tuple[float, float]:
    """The shift of the motion from the photo's flat unit to the base's: cells become millimetres (or pixels)."""
    turn = move[:, :2]
    there = base.corner + photo.step * (move[:, 2] + shift) - turn @ photo.corner
    return (float(there[0]), float(there[1]))

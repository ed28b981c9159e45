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
from condition.imaging.edge_patches import refined
from condition.imaging.plane import to_mm, to_px
from condition.records.placing import Placing
from condition.records.plane import PhotoPlane, SizeCard
from condition.records.shapes import Ring

COARSE_SIDE, FINE_SIDE = 240, 720
"""Cells along the longer side of the larger picture."""
NEAR_TURN, NEAR_STEP, ROUND_STEP = 12.0, 1.5, 3.0
"""Degrees: a face is mostly photographed the same way up; if nothing fits there, all round."""
FINE_TURNS = np.array([-1.0, -0.4, 0.0, 0.4, 1.0])
CANDIDATES = 4
PLENTY = 40
"""Patches that confirm a place beyond doubt."""
LEAST_SCORE = 0.15
LEAST_LEAD = 1.15
"""Over the next best place elsewhere."""
SURE_SCORE, SURE_LEAD = 0.3, 1.5
"""Of a coarse fit, so that other turns need not be tried."""
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


def placed_by_edges(
    photo: np.ndarray,
    base: np.ndarray,
    photo_cards: Sequence[SizeCard],
    base_cards: Sequence[SizeCard],
    planes: tuple[PhotoPlane, PhotoPlane] | None,
    outline_px: Ring | None = None,
) -> Placing | None:
    """Return the placing that the edges give, or None when no place stands out that patches of the edges confirm.

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
    fits = _fits(*coarse, np.arange(-NEAR_TURN, NEAR_TURN + 0.1, NEAR_STEP))
    if planes and not any(_sure(fit) for fit in fits):
        fits += _fits(*coarse, np.arange(NEAR_TURN + ROUND_STEP, 360.0 - NEAR_TURN, ROUND_STEP))
    fine = flat(side / FINE_SIDE)
    there, here = _cells(fine[1]), _cells(fine[0])
    found = None
    for start in _tops(fits):
        best = max(_fits(*fine, start.degrees + FINE_TURNS), key=lambda fit: fit.score)
        if best.score < LEAST_SCORE or best.lead < LEAST_LEAD:
            continue
        motion = np.linalg.inv(there) @ _motion(best) @ here
        closer = refined(fine[0].edges, fine[1].edges, fine[1].known, motion, rigid=planes is not None)
        if closer and (found is None or closer[1] > found[1]):
            found = closer
        if found and found[1] >= PLENTY:
            break
    if found is None:
        return None
    matrix, supports, rms = found
    matrix = there @ matrix @ np.linalg.inv(here)
    return Placing(
        "edges",
        tuple(float(v) for v in (matrix / matrix[2, 2]).ravel()),
        in_mm=planes is not None,
        residual_mm=float(rms * fine[1].step) if planes else None,
        supports=supports,
    )


def _cells(flat: _Flat) -> np.ndarray:
    """From cells (counted from the corner) to the flat unit."""
    return np.array([[flat.step, 0, flat.corner[0]], [0, flat.step, flat.corner[1]], [0, 0, 1.0]])


def _motion(fit: _Fit) -> np.ndarray:
    turn = np.radians(fit.degrees)
    return np.array(
        [[np.cos(turn), -np.sin(turn), fit.shift[0]], [np.sin(turn), np.cos(turn), fit.shift[1]], [0, 0, 1]]
    )


def _sure(fit: _Fit) -> bool:
    return fit.score >= SURE_SCORE and fit.lead >= SURE_LEAD


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


def _fits(photo: _Flat, base: _Flat, turns: np.ndarray) -> list[_Fit]:
    """For each turn the best shift of the photo's edges over the base's."""
    rows, columns = photo.edges.shape
    side = int(np.ceil(np.hypot(rows, columns))) + 2
    shape = tuple(fft.next_fast_len(side + n, real=True) for n in base.edges.shape)
    theirs = [fft.rfft2(part, shape) for part in (_centred(base), base.known)]
    theirs.append(fft.rfft2(_centred(base) ** 2, shape))
    fits = []
    for degrees in turns:
        turned, known, move = _turned(photo, float(degrees), side)
        score = _scores(turned, known, theirs, shape, base.known.sum())
        row, column = np.unravel_index(int(score.argmax()), score.shape)
        top, away = float(score[row, column]), _elsewhere(score, row, column, shape)
        shift = _shift(score, row, column, shape, base.edges.shape, side)
        fits.append(_Fit(top, top / max(away, 1e-6), float(degrees), _in_unit(shift, move, photo, base)))
    return fits


def _tops(fits: list[_Fit]) -> list[_Fit]:
    """The best of the coarse fits, no two of them near each other, those that stand out most first."""
    chosen: list[_Fit] = []
    for fit in sorted(fits, key=lambda fit: -fit.score * min(fit.lead, 2.0)):
        if all(abs((fit.degrees - other.degrees + 180) % 360 - 180) > 2 * NEAR_STEP for other in chosen):
            chosen.append(fit)
        if len(chosen) == CANDIDATES:
            break
    return chosen


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


def _scores(turned, known, theirs, shape, whole) -> np.ndarray:
    ours = [fft.rfft2(part, shape).conj() for part in (turned, known, turned**2)]
    centred, mask, squared = theirs
    together = fft.irfft2(centred * ours[0], shape)
    overlap = fft.irfft2(mask * ours[1], shape)
    energy = fft.irfft2(squared * ours[1], shape) * fft.irfft2(mask * ours[2], shape)
    least = LEAST_OVERLAP * min(known.sum(), whole)
    return np.where(overlap > least, together / np.sqrt(np.maximum(energy, 1e-6)), 0.0)


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

"""The invented octave mandolin and its damage, as plain shapes in millimetres.

Frame of the instrument: x to the right and y towards the headstock as seen from the front, z out of the
top. The top's face is z = 0, the tail rib's face is y = 0, the back's face is z = BACK_Z.
"""

from dataclasses import dataclass
from itertools import pairwise

import cv2
import numpy as np
from contourpy import FillType, contour_generator
from scipy.interpolate import CubicSpline
from shapely.affinity import translate
from shapely.geometry import LineString, MultiPolygon, Polygon

DEPTH = 72.1
BACK_Z = -DEPTH
CARD_THICKNESS = 0.1
SCALE_LENGTH = 530.0
SADDLE_Y = 125.0
NUT_Y = SADDLE_Y + SCALE_LENGTH
BODY_LENGTH = 390.0
BOARD_END_Y = 292.0
HOLE_CENTRE = (0.0, 235.0)
HOLE_RADII = (52.0, 38.0)
BRIDGE_REAR_Y = 100.0
BRIDGE_FRONT_Y = 131.0
BRIDGE_HALF = 78.0
PIN_Z = -36.0
HEAD_ANGLE = np.radians(13.0)
HEAD_THICK = 15.0
HEAD_ORIGIN = np.array([0.0, NUT_Y + 4.0, 1.0])
HEAD_U = np.array([0.0, np.cos(HEAD_ANGLE), -np.sin(HEAD_ANGLE)])
HEAD_N = np.array([0.0, np.sin(HEAD_ANGLE), np.cos(HEAD_ANGLE)])

END_PIN_DIAMETER = 9.1
BUSHING_BORE = 5.2
BUSHING_OUTER = 13.0
ARMREST_DIAMETER = 1.9
DOUBTFUL_DIAMETER = 1.8
LIFT_X = (-52.0, 10.0)
DENT = (40.0, 52.0, 6.0)


@dataclass(frozen=True)
class Frame:
    """A plane seen from outside: origin, image right, image up and the normal towards the eye."""

    origin: np.ndarray
    right: np.ndarray
    up: np.ndarray

    @property
    def normal(self) -> np.ndarray:
        return np.cross(self.right, self.up)

    def at(self, x: float, y: float, h: float = 0.0) -> np.ndarray:
        return self.origin + x * self.right + y * self.up + h * self.normal


X, Y, Z = np.eye(3)
FACE = Frame(np.zeros(3), X, Y)
BACK = Frame(np.array([0.0, 0.0, BACK_Z]), -X, Y)
TAIL = Frame(np.zeros(3), X, Z)
HEAD_BACK = Frame(HEAD_ORIGIN - HEAD_THICK * HEAD_N, -X, HEAD_U)
BENCH_DOWN = Frame(np.array([0.0, 190.0, BACK_Z]), X, Y)
BENCH_UP = Frame(np.array([0.0, 190.0, 30.0]), -X, Y)


def outline(step: float = 1.5) -> np.ndarray:
    """The body's outline seen from the front, counter-clockwise from the middle of the tail, N x 2 mm."""
    half = np.array(
        [(50, 0), (98, 19), (138, 59), (160, 140), (149, 212), (119, 274), (81, 328), (52, 366), (33, 390)],
        float,
    )
    chord = np.r_[0, np.cumsum(np.hypot(*np.diff(half, axis=0).T))]
    spline = CubicSpline(chord, half, bc_type=((1, (1.0, 0.0)), (1, (-0.6, 0.8))))
    right = spline(np.linspace(0, chord[-1], int(chord[-1] / step)))
    flat = np.c_[np.arange(0, 50, step), np.zeros(len(np.arange(0, 50, step)))]
    top = np.c_[np.linspace(33, 0, 12)[1:], np.full(11, BODY_LENGTH)]
    side = np.r_[flat, right, top]
    left = side[1:-1][::-1] * (-1, 1)
    return np.r_[side, left]


def oval(grow: float = 0.0, count: int = 180) -> np.ndarray:
    """The sound hole's edge, moved outward by `grow` mm."""
    t = np.linspace(0, 2 * np.pi, count, endpoint=False)
    return np.c_[
        HOLE_CENTRE[0] + (HOLE_RADII[0] + grow) * np.cos(t),
        HOLE_CENTRE[1] + (HOLE_RADII[1] + grow) * np.sin(t),
    ]


def circle(x: float, y: float, diameter: float, count: int = 64) -> np.ndarray:
    t = np.linspace(0, 2 * np.pi, count, endpoint=False)
    return np.c_[x + diameter / 2 * np.cos(t), y + diameter / 2 * np.sin(t)]


def field(shape: tuple[int, int], cell: float | tuple[float, float], rng: np.random.Generator) -> np.ndarray:
    """Smooth noise of unit spread whose bumps are about `cell` samples (rows, columns) apart."""
    cy, cx = (cell, cell) if np.isscalar(cell) else cell
    small = rng.standard_normal((max(4, int(shape[0] / cy) + 3), max(4, int(shape[1] / cx) + 3))).astype(np.float32)
    out = cv2.resize(small, (shape[1], shape[0]), interpolation=cv2.INTER_CUBIC)
    return out / max(out.std(), 1e-6)


def blob(
    centre: tuple[float, float],
    radii: tuple[float, float],
    area: float,
    seed: int,
    rough: tuple[float, ...],
    parts: bool,
) -> MultiPolygon:
    """An irregular region of exactly `area` mm2 (to 0.05): islands and detached spots where `parts` is set."""
    rng = np.random.default_rng(seed)
    step = 0.2
    w, h = radii[0] * 1.9, radii[1] * 1.9
    xs, ys = np.arange(-w, w, step), np.arange(-h, h, step)
    gx, gy = np.meshgrid(xs, ys)
    f = 1.0 - np.hypot(gx / radii[0], gy / radii[1])
    for amplitude, cell in zip(rough, (24.0, 10.0, 4.0, 1.6), strict=True):
        f = f + amplitude * field(f.shape, cell / step, rng)
    f = cv2.GaussianBlur(f.astype(np.float32), (0, 0), 0.35 / step)
    generator = contour_generator(xs, ys, f, fill_type=FillType.OuterOffset)

    def region(level: float) -> MultiPolygon:
        found = []
        for points, offsets in zip(*generator.filled(level, 1e9), strict=True):
            rings = [points[a:b] for a, b in pairwise(offsets)]
            holes = [r for r in rings[1:] if parts and Polygon(r).area > 1.2]
            found.append(Polygon(rings[0], holes))
        found.sort(key=lambda p: -p.area)
        return MultiPolygon([p for p in found if p.area > 2.0] if parts else found[:1])

    low, high = -1.0, 1.0
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (middle, high) if region(middle).area > area else (low, middle)
    return translate(region(low), *centre)


def loss() -> MultiPolygon:
    """Finish loss from the player's arm, on the top: 1400 mm2."""
    return blob((-110.0, 104.0), (19.0, 27.0), 1400.0, 31, (0.13, 0.10, 0.11, 0.06), True)


def checking() -> MultiPolygon:
    """Region of finish checking on the back: 9000 mm2 (instrument x, so mirrored when seen from behind)."""
    return blob((4.0, 168.0), (62.0, 50.0), 9000.0, 12, (0.10, 0.06, 0.02, 0.0), False)


def crack() -> tuple[np.ndarray, np.ndarray]:
    """Middle line (N x 2 mm, exactly 148 mm long) and width (N, mm) of the top crack."""
    rng = np.random.default_rng(5)
    t = np.linspace(0, 1, 400)
    wander = (
        1.0 * np.sin(2.1 * t + 0.4) + 0.28 * field((1, 400), (1, 70), rng)[0] + 0.09 * field((1, 400), (1, 14), rng)[0]
    )
    steps = 0.35 / (1 + np.exp(-(t - 0.37) * 260)) - 0.4 / (1 + np.exp(-(t - 0.71) * 300))
    x = -74.5 + 2.2 * t + wander + steps
    low, high = 100.0, 148.0
    for _ in range(60):
        span = (low + high) / 2
        length = np.hypot(np.diff(x), span / 399).sum()
        low, high = (low, span) if length > 148.0 else (span, high)
    path = np.c_[x, 136.5 + span * t]
    ends = np.minimum(1, np.minimum(t, 1 - t) / 0.05)
    width = 0.47 + 0.06 * field((1, 400), (1, 40), rng)[0] + 0.03 * field((1, 400), (1, 12), rng)[0]
    return path, np.clip(width, 0.34, 0.6) * (0.66 + 0.34 * ends)


def ribbon(path: np.ndarray, width: np.ndarray) -> np.ndarray:
    """Outline of a line of changing width."""
    along = np.gradient(path, axis=0)
    along /= np.linalg.norm(along, axis=1, keepdims=True)
    normal = np.c_[-along[:, 1], along[:, 0]] * (width[:, None] / 2)
    return np.r_[path + normal, (path - normal)[::-1]]


def groove() -> tuple[np.ndarray, Polygon]:
    """Middle line (without its round ends) and outline of the plectrum wear: 60 mm by 9 mm over all."""
    t = np.linspace(-0.62, 0.62, 600)
    arc = np.c_[HOLE_CENTRE[0] + 71.5 * np.cos(t), HOLE_CENTRE[1] - 4 + 58 * np.sin(t)]
    run = np.r_[0, np.cumsum(np.hypot(*np.diff(arc, axis=0).T))]
    start = (run[-1] - 51.0) / 2
    wanted = np.linspace(start, start + 51.0, 120)
    path = np.c_[np.interp(wanted, run, arc[:, 0]), np.interp(wanted, run, arc[:, 1])]
    return path, LineString(path).buffer(4.5, quad_segs=32)


def inset_point(y: float, inset: float) -> tuple[float, float]:
    """Point on the bass side, `inset` mm inside the outline, nearest to height y."""
    ring = Polygon(outline(0.5)).buffer(-inset).exterior
    points = np.array(ring.coords)
    points = points[points[:, 0] < 0]
    best = points[np.argmin(abs(points[:, 1] - y))]
    return round(float(best[0]), 2), round(float(best[1]), 2)


def armrest_holes() -> list[tuple[float, float]]:
    return [inset_point(y, inset) for y, inset in ((31.0, 11.0), (45.0, 14.0), (147.0, 11.5), (163.0, 10.5))]


def doubtful_spot() -> tuple[float, float]:
    return inset_point(72.0, 13.0)


def head_outline() -> np.ndarray:
    """Headstock outline as (v across, u along) in mm, v to the right as seen from the front."""
    right = np.array(
        [(16.0, -3), (17.0, 3), (20.5, 13), (29, 23), (34.2, 34), (35.5, 90), (37.5, 150), (36, 160), (27, 165)],
        float,
    )
    chord = np.r_[0, np.cumsum(np.hypot(*np.diff(right, axis=0).T))]
    s = np.linspace(0, chord[-1], 110)
    side = np.c_[np.interp(s, chord, right[:, 0]), np.interp(s, chord, right[:, 1])]
    kernel = np.ones(9) / 9
    padded = np.pad(side, ((4, 4), (0, 0)), mode="edge")
    side = np.c_[np.convolve(padded[:, 0], kernel, "valid"), np.convolve(padded[:, 1], kernel, "valid")]
    t = np.linspace(0, 1, 24)[1:]
    crown = np.c_[27 * (1 - t), 165 + 2 * t - 3.2 * np.sin(np.pi * t) * (1 - t * 0.4)]
    half = np.r_[side, crown]
    return np.r_[half, half[:-1][::-1] * (-1, 1)]


def lead_path() -> np.ndarray:
    """The pickup's lead on the top, as control points (x, y, z) in mm."""
    return np.array(
        [
            (-30, 283, 3.5),
            (-41, 281, 1.6),
            (-53, 268, 1.5),
            (-58.5, 245, 1.5),
            (-58, 215, 1.5),
            (-53, 188, 1.5),
            (-34, 172, 1.5),
            (0, 166, 1.5),
            (42, 163, 1.6),
            (74, 152, 1.5),
            (90, 132, 1.5),
            (97, 108, 1.5),
            (100, 92, 2.2),
            (101, 84, 2.0),
        ],
        float,
    )

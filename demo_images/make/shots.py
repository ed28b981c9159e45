"""Where the camera, the cards, the lamps and the odds and ends stand in each photograph."""

from dataclasses import dataclass, field

import geometry as g
import numpy as np

HALF_FRAME_DIAGONAL_MM = 43.2666 / 2
OVERSCAN = 1.008


@dataclass(frozen=True)
class Lamp:
    """An area lamp in the bench's frame (mm), aimed at `aim`."""

    at: tuple[float, float, float]
    aim: tuple[float, float, float]
    size: float
    power: float
    kelvin: float


@dataclass(frozen=True)
class Card:
    """A size card: number, middle and turn (degrees) in the plane of its photo."""

    number: int
    x: float
    y: float
    turn: float


@dataclass(frozen=True)
class Shot:
    """One photograph. Lengths in mm, angles in degrees; `aim` lies in the measured plane."""

    name: str
    view: str
    after: bool
    plane: g.Frame
    bench: g.Frame
    aim: tuple[float, float]
    distance: float
    tilt: float
    tilt_towards: float
    roll: float
    size: tuple[int, int]
    orientation: int
    focal_35: float
    focal_mm: float
    f_number: float
    exposure_s: str
    iso: int
    k1: float
    cards: tuple[Card, ...]
    card_height: float
    lamps: tuple[Lamp, ...]
    surround: tuple[float, float, float]
    cover: str
    taken: str
    white: tuple[float, float, float] = (1.0, 1.0, 1.0)
    level: float = 0.66
    focus_offset: float = 0.0
    props: tuple[str, ...] = ()
    gps: tuple[float, float] | None = None
    turn_bench: float = 0.0
    seed: int = 1
    extra: dict[str, float] = field(default_factory=dict)

    @property
    def focal_px(self) -> float:
        return self.focal_35 * float(np.hypot(*self.size)) / (2 * HALF_FRAME_DIAGONAL_MM)

    @property
    def surface_height(self) -> float:
        """Height of the measured surface above the plane of the cards' faces."""
        return -self.card_height

    def camera(self) -> tuple[np.ndarray, np.ndarray]:
        """Rotation (world to camera; x right, y down, z forward) and the eye's place in mm."""
        p, t, a = self.plane, np.radians(self.tilt), np.radians(self.tilt_towards)
        lean = np.cos(a) * p.right + np.sin(a) * p.up
        back = np.cos(t) * p.normal + np.sin(t) * lean
        eye = p.at(*self.aim) + self.distance * back
        right = np.cross(p.up, back)
        right /= np.linalg.norm(right)
        up = np.cross(back, right)
        r = np.radians(self.roll)
        right, up = np.cos(r) * right + np.sin(r) * up, -np.sin(r) * right + np.cos(r) * up
        return np.stack([right, -up, -back]), eye

    def undistorted(self, points: np.ndarray) -> np.ndarray:
        """World points (N x 3 mm) to ideal upright pixels, origin at the corner of the first pixel."""
        rotation, eye = self.camera()
        c = (np.asarray(points, float) - eye) @ rotation.T
        return c[:, :2] / c[:, 2:] * self.focal_px + np.array(self.size) / 2

    def project(self, points: np.ndarray) -> np.ndarray:
        """World points to upright pixels through the lens, r_d = r_u (1 + k1 r_u^2), r in half diagonals."""
        centre = np.array(self.size) / 2
        d = self.undistorted(points) - centre
        r2 = (d**2).sum(1, keepdims=True) / (centre**2).sum()
        return centre + d * (1 + self.k1 * r2)


def _lamps(*rows: tuple[float, ...]) -> tuple[Lamp, ...]:
    return tuple(Lamp(tuple(r[0:3]), tuple(r[3:6]), r[6], r[7], r[8]) for r in rows)


BENCH_FRONT = g.BENCH_DOWN
UPSIDE = g.BENCH_UP

INTAKE = (
    Shot(
        name="front",
        view="front",
        after=False,
        plane=g.FACE,
        bench=BENCH_FRONT,
        aim=(3.0, 192.0),
        distance=1005.0,
        tilt=7.5,
        tilt_towards=-97.0,
        roll=-2.2,
        size=(3000, 4000),
        orientation=6,
        focal_35=50.0,
        focal_mm=35.0,
        f_number=10.0,
        exposure_s="1/60",
        iso=200,
        k1=-0.006,
        cards=(Card(3, -204, 318, 7), Card(11, 194, 345, -14), Card(6, -194, -22, 21), Card(17, 190, -26, -5)),
        card_height=-72.0,
        lamps=_lamps(
            (-1300, -250, 1150, 0, 0, 40, 900, 900, 5600),
            (900, 1200, 1100, 0, 0, 0, 500, 170, 4300),
            (262, 566, 1472, 100, 160, 72, 400, 85, 5200),
        ),
        surround=(0.36, 0.37, 0.40),
        cover="cloth",
        taken="2025:11:17 10:04:31",
        white=(1.0, 0.985, 0.95),
        focus_offset=30.0,
        props=("pencil", "block", "tape"),
        seed=11,
    ),
    Shot(
        name="back",
        view="back",
        after=False,
        plane=g.BACK,
        bench=UPSIDE,
        aim=(-4.0, 192.0),
        distance=1010.0,
        tilt=4.6,
        tilt_towards=35.0,
        roll=3.1,
        size=(2400, 3200),
        orientation=8,
        focal_35=50.0,
        focal_mm=35.0,
        f_number=9.0,
        exposure_s="1/50",
        iso=200,
        k1=-0.006,
        cards=(Card(2, -98, 76, -11), Card(9, 101, 82, 16), Card(14, -64, 268, 5), Card(5, 72, 264, -22)),
        card_height=g.CARD_THICKNESS,
        lamps=_lamps(
            (-1250, 500, 1050, 0, 100, 60, 800, 820, 5400),
            (1100, -900, 1200, 0, 0, 0, 600, 200, 4200),
            (-250, 257, 1500, -70, 140, 72, 400, 80, 5200),
        ),
        surround=(0.34, 0.36, 0.40),
        cover="cloth",
        taken="2025:11:17 10:11:08",
        white=(1.0, 0.98, 0.955),
        props=("pencil2",),
        seed=12,
        turn_bench=7.0,
    ),
    Shot(
        name="headstock_back",
        view="headstock back",
        after=False,
        plane=g.HEAD_BACK,
        bench=UPSIDE,
        aim=(2.0, 80.0),
        distance=505.0,
        tilt=6.8,
        tilt_towards=-35.0,
        roll=1.4,
        size=(3200, 2400),
        orientation=1,
        focal_35=50.0,
        focal_mm=35.0,
        f_number=7.1,
        exposure_s="1/50",
        iso=320,
        k1=-0.0045,
        cards=(Card(8, -104, 60, -8), Card(19, 105, 102, 12)),
        card_height=0.0,
        lamps=_lamps((-700, 1100, 800, 0, 480, 60, 600, 330, 5500), (900, 300, 700, 0, 480, 60, 350, 60, 4200)),
        surround=(0.36, 0.37, 0.40),
        cover="bench",
        taken="2025:11:17 10:18:47",
        white=(1.0, 0.99, 0.95),
        props=("screwdriver",),
        seed=13,
        turn_bench=12.0,
        focus_offset=3.0,
    ),
    Shot(
        name="closeup_bridge",
        view="front",
        after=False,
        plane=g.FACE,
        bench=BENCH_FRONT,
        aim=(-8.0, 118.0),
        distance=545.0,
        tilt=11.0,
        tilt_towards=-112.0,
        roll=-1.7,
        size=(3200, 2400),
        orientation=1,
        focal_35=50.0,
        focal_mm=35.0,
        f_number=11.0,
        exposure_s="1/30",
        iso=320,
        k1=-0.0045,
        cards=(Card(1, 6, 50, 9), Card(12, -113, 184, -6), Card(21, 118, 178, 13)),
        card_height=g.CARD_THICKNESS,
        lamps=_lamps(
            (-1200, -450, 900, 0, -60, 60, 800, 640, 5500),
            (800, 900, 1000, 0, 0, 0, 450, 120, 4300),
            (629, 603, 1472, 140, 45, 72, 300, 48, 5200),
        ),
        surround=(0.35, 0.36, 0.39),
        cover="cloth",
        taken="2025:11:17 10:26:20",
        white=(1.0, 0.985, 0.945),
        focus_offset=2.0,
        seed=14,
        gps=(-38.6142, -21.3077),
    ),
    Shot(
        name="closeup_endpin",
        view="tail",
        after=False,
        plane=g.TAIL,
        bench=BENCH_FRONT,
        aim=(-2.0, -31.0),
        distance=325.0,
        tilt=8.5,
        tilt_towards=62.0,
        roll=1.9,
        size=(3200, 2400),
        orientation=1,
        focal_35=50.0,
        focal_mm=35.0,
        f_number=8.0,
        exposure_s="1/40",
        iso=400,
        k1=-0.004,
        cards=(Card(4, -41, -36.5, 3), Card(15, 41.5, -35.0, -4)),
        card_height=g.CARD_THICKNESS,
        lamps=_lamps((-800, -900, 700, 0, -190, 40, 500, 300, 5500), (700, -500, 900, 0, -190, 30, 400, 100, 4300)),
        surround=(0.34, 0.35, 0.38),
        cover="bench",
        taken="2025:11:17 10:33:55",
        white=(1.0, 0.99, 0.95),
        props=("pin",),
        seed=15,
        turn_bench=2.0,
    ),
)

RETURN = (
    Shot(
        name="return_front",
        view="front",
        after=True,
        plane=g.FACE,
        bench=BENCH_FRONT,
        aim=(-4.0, 188.0),
        distance=1050.0,
        tilt=6.2,
        tilt_towards=-70.0,
        roll=2.6,
        size=(1800, 2400),
        orientation=6,
        focal_35=50.0,
        focal_mm=35.0,
        f_number=10.0,
        exposure_s="1/60",
        iso=200,
        k1=-0.006,
        cards=(Card(7, -208, 300, -12), Card(16, 199, 330, 9), Card(10, -190, -30, -25), Card(20, 196, -44, 14)),
        card_height=-72.0,
        lamps=_lamps((-1200, 250, 1200, 0, 0, 40, 900, 900, 5800), (1000, -700, 1100, 0, 0, 0, 600, 260, 4600)),
        surround=(0.40, 0.41, 0.43),
        cover="cloth",
        taken="2026:02:09 15:12:40",
        white=(0.985, 0.985, 0.97),
        focus_offset=30.0,
        props=("block",),
        seed=21,
        turn_bench=9.0,
        level=0.69,
    ),
    Shot(
        name="return_back",
        view="back",
        after=True,
        plane=g.BACK,
        bench=UPSIDE,
        aim=(3.0, 190.0),
        distance=1045.0,
        tilt=5.8,
        tilt_towards=-120.0,
        roll=-1.8,
        size=(1500, 2000),
        orientation=6,
        focal_35=50.0,
        focal_mm=35.0,
        f_number=9.0,
        exposure_s="1/50",
        iso=200,
        k1=-0.006,
        cards=(Card(13, -102, 84, 12), Card(18, 96, 74, -7), Card(0, -70, 262, -19), Card(22, 66, 270, 8)),
        card_height=g.CARD_THICKNESS,
        lamps=_lamps((-1000, 1000, 1100, 0, 100, 60, 800, 820, 5700), (1100, -700, 1200, 0, 0, 0, 600, 230, 4500)),
        surround=(0.40, 0.41, 0.43),
        cover="cloth",
        taken="2026:02:09 15:18:02",
        white=(0.985, 0.985, 0.97),
        seed=22,
        turn_bench=-4.0,
    ),
    Shot(
        name="return_headstock_back",
        view="headstock back",
        after=True,
        plane=g.HEAD_BACK,
        bench=UPSIDE,
        aim=(-2.0, 82.0),
        distance=495.0,
        tilt=5.2,
        tilt_towards=-110.0,
        roll=-2.3,
        size=(2000, 1500),
        orientation=1,
        focal_35=50.0,
        focal_mm=35.0,
        f_number=7.1,
        exposure_s="1/50",
        iso=320,
        k1=-0.0045,
        cards=(Card(10, -104, 98, 10), Card(7, 104, 66, -13)),
        card_height=0.0,
        lamps=_lamps((-900, 900, 800, 0, 480, 60, 600, 360, 5800), (900, 700, 700, 0, 480, 60, 400, 80, 4500)),
        surround=(0.40, 0.41, 0.43),
        cover="bench",
        taken="2026:02:09 15:24:33",
        white=(0.985, 0.985, 0.97),
        seed=23,
        turn_bench=5.0,
        focus_offset=3.0,
    ),
    Shot(
        name="return_closeup_bridge",
        view="front",
        after=True,
        plane=g.FACE,
        bench=BENCH_FRONT,
        aim=(-4.0, 116.0),
        distance=550.0,
        tilt=9.0,
        tilt_towards=-80.0,
        roll=2.1,
        size=(2000, 1500),
        orientation=1,
        focal_35=50.0,
        focal_mm=35.0,
        f_number=11.0,
        exposure_s="1/30",
        iso=320,
        k1=-0.0045,
        cards=(Card(16, -18, 48, -10), Card(20, -110, 190, 8), Card(13, 116, 184, -9)),
        card_height=g.CARD_THICKNESS,
        lamps=_lamps((-1100, 150, 1000, 0, -60, 60, 800, 640, 5800), (900, -500, 1000, 0, 0, 0, 500, 170, 4600)),
        surround=(0.40, 0.41, 0.43),
        cover="cloth",
        taken="2026:02:09 15:31:17",
        white=(0.985, 0.985, 0.97),
        focus_offset=2.0,
        seed=24,
        level=0.69,
    ),
    Shot(
        name="return_closeup_endpin",
        view="tail",
        after=True,
        plane=g.TAIL,
        bench=BENCH_FRONT,
        aim=(2.0, -32.0),
        distance=330.0,
        tilt=7.0,
        tilt_towards=115.0,
        roll=-1.5,
        size=(2000, 1500),
        orientation=1,
        focal_35=50.0,
        focal_mm=35.0,
        f_number=8.0,
        exposure_s="1/40",
        iso=400,
        k1=-0.004,
        cards=(Card(18, -42, -35.5, -5), Card(0, 41, -36.0, 4)),
        card_height=g.CARD_THICKNESS,
        lamps=_lamps((-600, -1000, 800, 0, -190, 40, 500, 300, 5800), (800, -500, 900, 0, -190, 30, 400, 120, 4600)),
        surround=(0.40, 0.41, 0.43),
        cover="bench",
        taken="2026:02:09 15:38:50",
        white=(0.985, 0.985, 0.97),
        seed=25,
        turn_bench=-3.0,
    ),
)

SHOTS = {s.name: s for s in INTAKE + RETURN}

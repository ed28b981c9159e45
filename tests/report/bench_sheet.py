"""An invented octave mandolin on the bench: pictures made of numbers, ten findings, everything the report shows."""

from __future__ import annotations

import hashlib
import math
from dataclasses import replace
from functools import cache
from uuid import NAMESPACE_URL, uuid5

import numpy as np

from condition.records.finding import Finding
from condition.records.instrument import Instrument
from condition.records.job import Job
from condition.records.mark import Mark
from condition.records.measurement import Contribution, Measurement
from condition.records.person import Person
from condition.records.photo import Photo
from condition.records.plane import PhotoPlane, SizeCard
from condition.records.shapes import Circle, Line, Point, Ring, Shape
from condition.records.sheet import ConditionSheet, FindingEntry, MeasuredMark, ViewEntry
from condition.records.view import View
from condition.report.map_plan import moved

MM_PER_PX = 0.25
ORIGIN_PX = (750.0, 260.0)
"""Where the view frame's origin (neck end of the outline) lies in the front and back photos."""


def uid(name: str) -> str:
    return str(uuid5(NAMESPACE_URL, "octave mandolin/" + name))


def outline(scale: float = 1.0) -> tuple[tuple[float, float], ...]:
    """A drop-shaped body, mm, 290 wide and 360 long at scale 1, neck up."""
    points = []
    for k in range(120):
        t = 2 * math.pi * k / 120
        x = 145 * math.sin(t) * (0.62 + 0.38 * math.sin((t if t < math.pi else 2 * math.pi - t) / 2))
        points.append((round(scale * x, 2), round(scale * (180 - 180 * math.cos(t)), 2)))
    return tuple(points)


def headstock() -> tuple[tuple[float, float], ...]:
    return (
        (-22, 150),
        (-24, 120),
        (-38, 100),
        (-42, 20),
        (-30, 4),
        (0, 0),
        (30, 4),
        (42, 20),
        (38, 100),
        (24, 120),
        (22, 150),
    )


@cache
def wood(height: int, width: int, seed: int, colour: tuple[int, int, int]) -> np.ndarray:
    """Spruce as a picture of numbers: vertical grain, a soft light from the left, a lighter body on a grey cloth."""
    rng = np.random.default_rng(seed)
    x = np.arange(width)
    grain = np.convolve(rng.normal(size=width + 8), np.ones(9) / 9, "valid") * 22
    wave = 6 * np.sin(x / 31.0 + rng.uniform(0, 6))
    light = np.linspace(18, -22, width)
    line = (grain + wave + light)[None, :, None]
    noise = rng.normal(0, 2.5, size=(height, width, 1))
    rgb = np.clip(np.array(colour)[None, None, :] + line + noise, 0, 255)
    return rgb.astype(np.uint8)


def _body(rgb: np.ndarray, loop_mm, origin=ORIGIN_PX) -> np.ndarray:
    from skimage.draw import polygon2mask

    loop = np.array([(origin[1] + y / MM_PER_PX, origin[0] + x / MM_PER_PX) for x, y in loop_mm])
    mask = polygon2mask(rgb.shape[:2], loop)
    cloth = wood(*rgb.shape[:2], 99, (112, 116, 118))
    return np.where(mask[..., None], rgb, cloth)


@cache
def pixels_of(photo: Photo) -> np.ndarray:
    front = photo.file_name.startswith("front")
    if "head" in photo.file_name:
        rgb = _body(wood(1000, 800, 5, (92, 58, 40)), headstock(), (400.0, 200.0)).copy()
    elif "neck" in photo.file_name:
        rgb = wood(900, 1400, 8, (96, 62, 44)).copy()
    else:
        rgb = _body(wood(2000, 1500, 3 if front else 4, (206, 160, 104) if front else (150, 92, 58)), outline()).copy()
        if front:
            yy, xx = np.mgrid[0 : rgb.shape[0], 0 : rgb.shape[1]]
            rgb[(xx - 750) ** 2 + (yy - 900) ** 2 < 190**2] = (34, 26, 22)
    for shape in _drawn_on(photo):
        _scar(rgb, shape)
    rgb.setflags(write=False)
    return rgb


def _scar(rgb: np.ndarray, shape: Shape) -> None:
    from skimage.draw import disk, line, polygon

    match shape:
        case Line(points):
            for (x0, y0), (x1, y1) in zip(points, points[1:], strict=False):
                rr, cc = line(int(y0), int(x0), int(y1), int(x1))
                for shift in (0, 1):
                    rgb[rr, np.clip(cc + shift, 0, rgb.shape[1] - 1)] = (44, 26, 16)
        case Circle(x, y, radius):
            rr, cc = disk((y, x), radius, shape=rgb.shape[:2])
            rgb[rr, cc] = (40, 28, 20)
        case Point(x, y):
            rr, cc = disk((y, x), 6, shape=rgb.shape[:2])
            rgb[rr, cc] = (70, 46, 30)
        case Ring(points):
            rr, cc = polygon([y for _, y in points], [x for x, _ in points], shape=rgb.shape[:2])
            rgb[rr, cc] = np.clip(rgb[rr, cc].astype(int) + (34, 32, 26), 0, 255).astype(np.uint8)


def _drawn_on(photo: Photo) -> list[Shape]:
    return [
        marked.mark.shape_px for entry in sheet().findings for marked in entry.marks if marked.mark.photo_id == photo.id
    ]


def _plane(width: int, height: int, ids=(3, 7, 11), residual: float = 0.06) -> PhotoPlane:
    square = ((10.0, 10.0), (170.0, 10.0), (170.0, 170.0), (10.0, 170.0))
    cards = tuple(SizeCard(k, square, 0.05) for k in ids)
    return PhotoPlane(
        "cards",
        (),
        (),
        width,
        height,
        4.0,
        1.0,
        40.0,
        cards,
        residual,
        MM_PER_PX,
        0.0061,
        2.4,
        "k1 -0.021",
        (),
        "cards 1",
    )


def _photo(name: str, width: int, height: int, view: str, order: int, **other) -> Photo:
    values = {
        "byte_count": 4_812_000 + 1017 * order,
        "taken": f"2026-03-0{order + 1} 10:1{order}:22",
        "taken_offset": "+01:00" if order % 2 else "",
        "camera": "Benchlight 2 serial 55501234",
        "lens": "",
        "has_location": True,
        "view_id": uid(view) if view else None,
        "plane": _plane(width, height),
        "sheet_order": order,
    }
    sha = hashlib.sha256(name.encode()).hexdigest()
    return Photo(uid(name), uid("job"), sha, name, "image/jpeg", width, height, **(values | other))


def _parts(expanded: float) -> tuple[Contribution, ...]:
    u = expanded / 2
    shares = (
        ("lens", 0.42, True),
        ("card side", 0.28, True),
        ("corners", 0.08, True),
        ("height", 0.10, True),
        ("pick", 0.12, False),
    )
    return tuple(Contribution(name, u * math.sqrt(share), shared) for name, share, shared in shares)


def measured(
    quantity: str, value: float, expanded: float, unit: str = "mm", photo: str = "front-01.jpg", **other
) -> Measurement:
    return Measurement(
        quantity, value, unit, expanded, "photo", f"{quantity} 1", parts=_parts(expanded), photo_id=uid(photo), **other
    )


def _entry(
    number: int, kind: str, view: str, photo: str, shapes_mm: list[Shape], measurements=(), *, in_px=False, **words
) -> FindingEntry:
    finding = Finding(uid(f"finding {number}"), uid("job"), number, kind, view_id=uid(view) if view else None, **words)
    origin = (400.0, 200.0) if "head" in photo else ORIGIN_PX
    marks = []
    for k, shape in enumerate(shapes_mm):
        px = shape if in_px else moved(shape, 0, 0, 1 / MM_PER_PX, *origin)
        marks.append(
            MeasuredMark(Mark(uid(f"mark {number}/{k}"), uid(photo), finding.id, px), None if in_px else shape)
        )
    return FindingEntry(finding, tuple(marks), tuple(measurements))


LOSS = Ring(
    ((40, 250), (62, 243), (88, 251), (96, 268), (90, 290), (70, 301), (48, 293), (36, 272)),
    (((60, 262), (72, 262), (70, 275), (58, 274)),),
)


@cache
def sheet() -> ConditionSheet:
    """The job as the report gets it."""
    photos = (
        _photo("front-01.jpg", 1500, 2000, "front", 0, caption="Front, size cards at the level of the top"),
        _photo("back-01.jpg", 1500, 2000, "back", 1, caption="Back"),
        _photo(
            "headstock-01.jpg",
            800,
            1000,
            "headstock front",
            2,
            light="raking",
            caption="Headstock, light from the left",
        ),
        _photo("neck-joint.jpg", 1400, 900, "", 3, plane=None, taken="", caption="Neck joint, treble side"),
    )
    crack = Line(((-70, 205), (-69.5, 222), (-70.5, 240), (-69, 262), (-68.5, 290), (-67, 318)))
    findings = (
        _entry(
            1, "crack", "front", "front-01.jpg", [crack],
            [measured("length", 113.4, 0.9), measured("width", 0.35, 0.0, bound="below")],
            place="bass side, lower bout",
            observation="Open crack along the grain, from level with the bridge to 4 cm above the tail. The two lips stand level; dust in the gap. No cleats are felt from inside with a mirror and lamp.",
            interpretation="Drying of the top; the crack follows a resin line. It moves under light finger pressure and will travel if strung.",
            decision="repair", decision_reason="glue and cleat before the strings go back on",
        ),
        _entry(
            2, "finish loss", "front", "front-01.jpg", [LOSS], [measured("area", 2312.0, 38.0, "mm2"), measured("share", 2.9, 0.1, "percent")],
            place="treble side, below the bridge", observation="Varnish worn through to bare spruce, edges soft and feathered; an island of varnish stands within.",
            interpretation="Wear from the player's forearm.", decision="leave",
        ),
        _entry(
            3, "enlarged hole", "headstock front", "headstock-01.jpg", [Circle(-28, 36, 5.2)],
            [measured("diameter", 10.42, 0.09, photo="headstock-01.jpg"), Measurement("diameter", 10.38, "mm", 0.03, "calliper")],
            place="second tuner, bass side", observation="Bored out off centre; the others measure 8.8 mm.", interpretation="A replacement bushing once sat here.",
            decision="repair", decision_reason="bush with the same wood, redrill to 8.8 mm",
        ),
        _entry(
            4, "screw hole", "back", "back-01.jpg", [Circle(-40, 60, 1.2), Circle(-12, 60, 1.1), Circle(16, 61, 1.3)],
            [measured("count", 3, 0.0, "", "back-01.jpg"), measured("diameter", 2.4, 0.12, photo="back-01.jpg")],
            place="upper bout", observation="Three screw holes in a row, not original to the pattern of this back.",
            state="doubtful", interpretation="Perhaps for a strap hook.",
        ),
        _entry(
            5, "open seam", "back", "back-01.jpg", [Line(((0, 268), (0.5, 290), (0, 318), (0.4, 342)))],
            [measured("length", 74.1, 0.7, photo="back-01.jpg")], place="centre seam, tail end", observation="Seam open, a 0.10 mm feeler gauge goes in over its whole length.",
            decision="stabilise",
        ),
        _entry(
            6, "finish checking", "back", "back-01.jpg", [Ring(((30, 120), (95, 128), (104, 200), (70, 232), (28, 210)))],
            [measured("area", 6210.0, 95.0, "mm2", "back-01.jpg")], place="treble side", observation="Fine net of checks across the grain.", decision="leave",
        ),
        _entry(
            7, "wear groove", "front", "front-01.jpg", [Line(((-22, 92), (-10, 96), (4, 101), (14, 108)))],
            [measured("length", 40.3, 0.5)], place="below the sound hole", observation="Plectrum wear, polished, no bare wood.", decision="leave",
        ),
        _entry(
            8, "missing part", "headstock front", "headstock-01.jpg", [Point(28, 68)], (), place="third tuner, treble side",
            observation="Button missing, shaft bent.", decision="replace", decision_reason="period-correct button from stock",
        ),
        _entry(
            9, "lifted", "", "neck-joint.jpg", [Line(((420, 380), (560, 388), (742, 402), (900, 396)))], (), in_px=True,
            place="heel, treble side", observation="A gap of the thickness of paper between heel and side.",
            interpretation="The joint has begun to give under string load.", decision="send out", decision_reason="neck reset",
        ),
        _entry(
            10, "old repair", "front", "front-01.jpg", [Ring(((-96, 228), (-60, 224), (-58, 246), (-94, 250)))], [measured("area", 792.0, 21.0, "mm2")],
            place="over the crack of finding 1", observation="Yellowed glue squeezed out beside the crack, scraped once.", state="doubtful",
        ),
    )  # fmt: skip
    instrument = Instrument(
        uid("instrument"),
        "Octave mandolin, drop-shaped, flat back",
        "octave mandolin",
        "Harrowdale Workshops",
        "No. 12",
        "about 1925",
        "H 4471",
        description="Spruce top in two pieces, round sound hole with three rings of inlay, back and sides of a plain brown wood. Eight strings, paired; the strings were off at intake.",
        materials="spruce, mahogany-like hardwood, ebony, bone, brass",
        string_length_mm=548.0,
    )
    job = Job(
        uid("job"), "2026-014", instrument.id, uid("client"), "Ines Varga", "2026-03-02T09:00:00Z",
        "It buzzes when it is damp and I am afraid of the crack. Please tell me what it needs before I take it on tour.",
        ("crack on the bass side", "tuner that slips"), "Condition before repair, for the owner", "daylight lamps both sides; raking light for the headstock; mirror and lamp inside",
        "The inside beyond the reach of the mirror, and under the fingerboard.",
        "Sound in its structure but for one open crack and a seam; the finish is its own and worn by playing.",
        last_finding_number=10,
    )  # fmt: skip
    views = (
        ViewEntry(
            View(uid("front"), job.id, "front", uid("front-01.jpg")),
            Ring(outline()),
            measured("area", 78900.0, 640.0, "mm2"),
        ),
        ViewEntry(View(uid("back"), job.id, "back", uid("back-01.jpg")), Ring(outline())),
        ViewEntry(View(uid("headstock front"), job.id, "headstock front", uid("headstock-01.jpg")), Ring(headstock())),
    )
    client = Person(uid("client"), "Teodora Lindqvist", "client", "Mill Lane 3, Westerholt")
    return ConditionSheet(job, instrument, client, photos, views, findings, "2026-03-04T16:20:00Z")


def many(count: int) -> ConditionSheet:
    """The same job with many findings on the front, as after an unkind life."""
    rng = np.random.default_rng(7)
    kinds = ("dent", "chip", "stain", "screw hole", "crack", "finish loss")
    entries = []
    for number in range(1, count + 1):
        x, y = rng.uniform(-70, 70), rng.uniform(120, 320)
        kind = kinds[number % len(kinds)]
        shape = (
            Circle(x, y, 1.5)
            if kind == "screw hole"
            else Line(((x, y), (x + 2, y + 25)))
            if kind == "crack"
            else Ring(((x, y), (x + 8, y + 1), (x + 7, y + 9), (x - 1, y + 6)))
        )
        entries.append(
            _entry(
                number,
                kind,
                "front",
                "front-01.jpg",
                [shape],
                [measured("length", 8.0, 0.4)],
                observation="Seen in even light. " * (1 + number % 4),
            )
        )
    return replace(sheet(), findings=tuple(entries))

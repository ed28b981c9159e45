"""Paints the surfaces (colour, height, roughness, lacquer) as image files for the renderer.

Usage: paint.py CACHE_DIR [before|after]. Colours are mixed in linear light and stored as sRGB PNG; the data
maps are 16-bit PNG with height, roughness and lacquer weight in the red, green and blue channels. Height 0.5
is the surface; the whole range is HEIGHT_RANGE mm.
"""

import sys
from pathlib import Path

import cv2
import geometry as g
import numpy as np
from geometry import field
from scipy.spatial import Voronoi
from shapely.geometry import Polygon

HEIGHT_RANGE = 2.0
Array = np.ndarray


def srgb(linear: Array) -> Array:
    linear = np.clip(linear, 0, 1)
    return np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)


def lin(hexcode: str) -> Array:
    v = np.array([int(hexcode[i : i + 2], 16) for i in (0, 2, 4)]) / 255
    return np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4).astype(np.float32)


class Canvas:
    """A flat surface: x0..x1 by y0..y1 mm at `ppm` texels a mm, row 0 at y1 (the picture's top)."""

    def __init__(self, x0: float, x1: float, y0: float, y1: float, ppm: float, seed: int) -> None:
        self.x0, self.x1, self.y0, self.y1, self.ppm = x0, x1, y0, y1, ppm
        self.shape = (round((y1 - y0) * ppm), round((x1 - x0) * ppm))
        self.rng = np.random.default_rng(seed)
        self.x = (x0 + (np.arange(self.shape[1], dtype=np.float32) + 0.5) / ppm)[None, :]
        self.y = (y1 - (np.arange(self.shape[0], dtype=np.float32) + 0.5) / ppm)[:, None]
        self.rgb = np.zeros((*self.shape, 3), np.float32)
        self.height = np.zeros(self.shape, np.float32)
        self.rough = np.full(self.shape, 0.32, np.float32)
        self.coat = np.ones(self.shape, np.float32)

    def noise(self, cell_x: float, cell_y: float) -> Array:
        return field(self.shape, (cell_y * self.ppm, cell_x * self.ppm), self.rng)

    def mask(self, rings: list[Array], feather: float = 0.0) -> Array:
        """Coverage 0..1 of the rings (even-odd), 8 x 8 supersampled, blurred by `feather` mm."""
        allpoints = np.vstack(rings)
        pad = 6 * feather + 1.0
        left = max(0, int((allpoints[:, 0].min() - pad - self.x0) * self.ppm))
        right = min(self.shape[1], int((allpoints[:, 0].max() + pad - self.x0) * self.ppm) + 1)
        top = max(0, int((self.y1 - allpoints[:, 1].max() - pad) * self.ppm))
        bottom = min(self.shape[0], int((self.y1 - allpoints[:, 1].min() + pad) * self.ppm) + 1)
        ss = 8 if (right - left) * (bottom - top) < 4e5 else 4 if (right - left) * (bottom - top) < 4e6 else 2
        big = np.zeros(((bottom - top) * ss, (right - left) * ss), np.uint8)
        scaled = []
        for ring in rings:
            px = np.c_[(ring[:, 0] - self.x0) * self.ppm - left, (self.y1 - ring[:, 1]) * self.ppm - top] * ss - 0.5
            scaled.append((px * 16).round().astype(np.int32))
        cv2.fillPoly(big, scaled, 255, shift=4)
        small = cv2.resize(big, (right - left, bottom - top), interpolation=cv2.INTER_AREA).astype(np.float32) / 255
        if feather:
            small = cv2.GaussianBlur(small, (0, 0), feather * self.ppm)
        out = np.zeros(self.shape, np.float32)
        out[top:bottom, left:right] = small
        return out

    def blend(self, mask: Array, colour: Array) -> None:
        self.rgb += mask[..., None] * (colour - self.rgb)

    def lines(self, paths: list[Array], width: float) -> Array:
        """Soft anti-aliased strokes `width` mm wide as coverage 0..1."""
        ss = 2
        big = np.zeros((self.shape[0] * ss, self.shape[1] * ss), np.uint8)
        pts = [
            (np.c_[(p[:, 0] - self.x0), (self.y1 - p[:, 1])] * self.ppm * ss * 16 - 8).round().astype(np.int32)
            for p in paths
        ]
        cv2.polylines(big, pts, False, 255, max(1, round(width * self.ppm * ss)), cv2.LINE_AA, shift=4)
        return cv2.resize(big, self.shape[::-1], interpolation=cv2.INTER_AREA).astype(np.float32) / 255

    def scratches(self, count: int, length: float, seed: int) -> Array:
        rng = np.random.default_rng(seed)
        paths = []
        for _ in range(count):
            a = rng.uniform(0, np.pi)
            span = rng.exponential(length)
            t = np.linspace(0, 1, 12)
            cx, cy = rng.uniform(self.x0, self.x1), rng.uniform(self.y0, self.y1)
            bend = rng.normal(0, 0.02) * span
            along, across = (t - 0.5) * span, bend * (t - 0.5) ** 2 * 4
            paths.append(
                np.c_[cx + along * np.cos(a) - across * np.sin(a), cy + along * np.sin(a) + across * np.cos(a)]
            )
        return self.lines(paths, 0.08)

    def save(self, folder: Path, name: str) -> None:
        dither = self.rng.uniform(-0.5, 0.5, self.shape).astype(np.float32)[..., None]
        picture = np.clip(srgb(self.rgb) * 255 + dither, 0, 255).round().astype(np.uint8)
        fast = [cv2.IMWRITE_PNG_COMPRESSION, 1]
        cv2.imwrite(str(folder / f"{name}.png"), picture[..., ::-1], fast)
        data = np.dstack([self.coat, self.rough, self.height / HEIGHT_RANGE + 0.5])
        cv2.imwrite(str(folder / f"{name}_data.png"), (np.clip(data, 0, 1) * 65535).round().astype(np.uint16), fast)


def rings_of(shape: object) -> list[Array]:
    parts = getattr(shape, "geoms", [shape])
    out = []
    for p in parts:
        out.append(np.array(p.exterior.coords))
        out.extend(np.array(i.coords) for i in p.interiors)
    return out


def edge_distance(c: Canvas, outline: Array) -> Array:
    """Distance in mm to the outline, positive inside, worked at 2 texels a mm."""
    low = Canvas(c.x0, c.x1, c.y0, c.y1, 2.0, 0)
    inside = (low.mask([outline]) > 0.5).astype(np.uint8)
    d = cv2.distanceTransform(inside, cv2.DIST_L2, 5) - cv2.distanceTransform(1 - inside, cv2.DIST_L2, 5)
    return cv2.resize(d / 2.0, c.shape[::-1], interpolation=cv2.INTER_LINEAR)


def spruce(c: Canvas) -> Array:
    """Book-matched spruce, grain along y: colour factor field of bare wood (linear RGB)."""
    x = np.abs(c.x + 0.25 * c.noise(60, 90) * 1.0) + 0.35 * c.noise(30, 160) + 0.05 * c.noise(2.0, 40)
    rng = np.random.default_rng(77)
    spacing = 0.75 + 0.0042 * np.arange(200) + 0.12 * rng.standard_normal(200)
    ring = np.r_[0, np.cumsum(np.clip(spacing, 0.45, 1.9))]
    number = np.interp(x, ring, np.arange(len(ring), dtype=np.float32)).astype(np.float32)
    phase = number - np.floor(number)
    strength = rng.uniform(0.45, 1.0, 220)[np.clip(number, 0, 219).astype(int)].astype(np.float32)
    late = np.clip((phase - 0.45) / 0.5, 0, 1) ** 2.2 * np.clip((1 - phase) / 0.07, 0, 1)
    dark = late * strength
    fibre = 0.5 * c.noise(0.16, 14) + 0.35 * c.noise(0.3, 30) + 0.25 * c.noise(3, 120)
    silk = np.clip(c.noise(3.2, 0.35) - 1.15, 0, 2) * np.clip(0.6 + 0.5 * c.noise(35, 30), 0, 1.6)
    light, deep = lin("dcbc8f"), lin("8a5529")
    wood = light * (1 - 0.82 * dark[..., None]) + deep * 0.82 * dark[..., None]
    shade = 1 + 0.035 * fibre + 0.028 * silk + 0.03 * c.noise(45, 200)
    return wood * shade[..., None].astype(np.float32)


def top(folder: Path, after: bool) -> None:
    c = Canvas(-165, 165, -5, 395, 12.5, 1)
    outline = g.outline()
    wood = spruce(c)
    d = edge_distance(c, outline)
    d = d + 2.5 * c.noise(40, 40)
    burst = np.clip(1 - (d - 6) / 34, 0, 1)
    burst = burst * burst * (3 - 2 * burst)
    amber = lin("efb566") * 1.10
    tobacco = lin("a8632c")
    tint = amber * (1 - burst[..., None]) + tobacco * burst[..., None]
    lacquered = wood * tint
    lacquered *= (1 + 0.03 * c.noise(60, 60))[..., None]
    if not after:
        grime = np.clip(c.noise(9, 9) * 0.4 + c.noise(35, 35) * 0.6, -1.2, 1.6)
        lacquered *= (0.955 - 0.022 * grime)[..., None]
    c.rgb = lacquered.astype(np.float32)
    c.height += 0.006 * c.noise(0.25, 8) + 0.010 * c.noise(1.2, 60)
    c.rough = 0.30 + 0.03 * c.noise(14, 14) + (0.03 if not after else 0.0)

    seam = np.exp(-((c.x / 0.09) ** 2)) * 0.35
    c.rgb *= (1 - seam)[..., None]

    for grow, width, colour in (
        (2.2, 0.7, "1c120b"),
        (3.0, 1.0, "d8c295"),
        (4.1, 0.5, "1c120b"),
        (4.7, 3.0, "5b2c17"),
        (7.8, 0.5, "1c120b"),
        (8.4, 1.0, "d8c295"),
        (9.5, 0.7, "1c120b"),
    ):
        ring = c.mask([g.oval(grow + width), g.oval(grow)])
        c.blend(ring * 0.93, lin(colour) * np.array([1.0, 0.9, 0.75], np.float32))

    scratch = c.scratches(260, 9, 3)
    c.rgb *= (1 + 0.10 * scratch)[..., None]
    c.rough += 0.15 * scratch
    c.height -= 0.012 * scratch
    pick = c.scratches(1, 1, 4) * 0
    rng = np.random.default_rng(8)
    strokes = []
    for _ in range(70):
        cx, cy = rng.normal(30, 16), rng.normal(178, 14)
        a = rng.normal(0.5, 0.35)
        strokes.append(np.array([[cx, cy], [cx + rng.uniform(4, 14) * np.cos(a), cy + rng.uniform(4, 14) * np.sin(a)]]))
    pick = np.maximum(pick, c.lines(strokes, 0.09))
    c.rgb *= (1 + 0.22 * pick)[..., None]
    c.height -= 0.02 * pick

    bare = spruce_bare(c, wood)
    path, shape = g.groove()
    rim = c.mask(rings_of(shape), 0.22)
    dist = stroke_distance(c, path)
    bowl = np.clip(1 - (dist / 4.5) ** 2, 0, 1)
    worn = rim * (0.72 + 0.28 * bowl)
    c.blend(worn * 0.86, bare * lin("fff0d8"))
    c.height -= 0.4 * bowl * (dist < 4.6)
    c.coat *= 1 - 0.9 * rim
    c.rough += 0.22 * rim

    shape_loss = g.loss()
    gone = c.mask(rings_of(shape_loss), 0.09)
    soil = np.clip(0.5 + 0.4 * c.noise(5, 9) + 0.35 * c.noise(0.6, 12), 0, 1) * 0.26
    c.blend(gone, bare * (1 - soil)[..., None] * np.array([1.0, 0.97, 0.93], np.float32))
    c.coat *= 1 - gone
    c.rough += 0.26 * gone
    c.height -= 0.09 * gone + 0.018 * gone * c.noise(0.3, 9)
    thin = c.mask(rings_of(shape_loss.buffer(2.0)), 1.6) * (1 - gone)
    c.rgb *= (1 + 0.12 * thin)[..., None]
    c.rough += 0.12 * thin

    path, width = g.crack()
    if after:
        line = c.mask([g.ribbon(path, np.full(len(path), 0.12))], 0.06)
        c.rgb *= (1 - 0.42 * line)[..., None]
    else:
        line = c.mask([g.ribbon(path, width)])
        halo = c.mask([g.ribbon(path, width + 0.5)], 0.3)
        c.rgb *= (1 - 0.10 * halo)[..., None]
        c.blend(line * 0.97, lin("160c06"))
        c.height -= 0.55 * line
        c.coat *= 1 - line
        c.rough += 0.4 * line

    x0, x1 = g.LIFT_X
    if not after:
        box = np.array(
            [
                (x0, g.BRIDGE_REAR_Y - 0.85),
                (x1, g.BRIDGE_REAR_Y - 0.85),
                (x1, g.BRIDGE_REAR_Y + 9),
                (x0, g.BRIDGE_REAR_Y + 9),
            ]
        )
        gap = c.mask([box], 0.05)
        c.blend(gap * 0.97, lin("120a06"))
        c.coat *= 1 - gap
        c.rough += 0.4 * gap
    foot = np.array(
        [
            (-79, g.BRIDGE_REAR_Y - 1.5),
            (79, g.BRIDGE_REAR_Y - 1.5),
            (79, g.BRIDGE_FRONT_Y + 1.5),
            (-79, g.BRIDGE_FRONT_Y + 1.5),
        ]
    )
    c.rgb *= (1 - 0.16 * c.mask([foot], 0.9))[..., None]

    for hole in g.armrest_holes():
        if after:
            plug = c.mask([g.circle(*hole, g.ARMREST_DIAMETER)], 0.04)
            c.blend(plug * 0.9, c.rgb * 0.0 + np.median(c.rgb[c.mask([g.circle(*hole, 5)]) > 0.9], 0) * 0.74)
            c.rgb *= (1 - 0.25 * (c.mask([g.circle(*hole, 2.1)], 0.05) - plug).clip(0))[..., None]
        else:
            chip = c.mask([chipped(hole, g.ARMREST_DIAMETER / 2, 0.10, 0.28, int(hole[1]))], 0.05)
            c.blend(chip * 0.75, bare)
            c.coat *= 1 - chip
            stain = c.mask([g.circle(*hole, 6.5)], 0.8)
            c.rgb *= (1 - 0.16 * stain * (1 - chip))[..., None]
    spot = g.doubtful_spot()
    pit = c.mask([g.circle(*spot, g.DOUBTFUL_DIAMETER)], 0.16)
    c.blend(pit * 0.85, lin("2e1a0e"))
    c.height -= 0.25 * c.mask([g.circle(*spot, g.DOUBTFUL_DIAMETER)], 0.3)
    c.rough += 0.2 * pit

    if after:
        x, y, size = g.DENT
        r = np.hypot(c.x - x, (c.y - y)) / (size / 2)
        bowl = np.clip(1 - r**2, 0, 1) ** 1.2
        c.height -= 0.55 * bowl
        c.rgb *= (1 - 0.30 * np.clip(1 - r**4, 0, 1))[..., None]
        ringmark = np.exp(-(((r - 0.93) / 0.06) ** 2))
        c.rgb *= (1 - 0.22 * ringmark)[..., None]
        c.rgb *= 1.06
    else:
        specks = c.mask([g.circle(*p, s) for p, s in zip(dust_points(41, 150), dust_sizes(41, 150), strict=True)])
        c.blend(specks * 0.5, lin("b8ad9c"))

    binding(c, outline)
    c.save(folder, f"top_{'after' if after else 'before'}")


def spruce_bare(c: Canvas, wood: Array) -> Array:
    return wood * lin("fff1df") * 0.92


def stroke_distance(c: Canvas, path: Array) -> Array:
    low = np.full(c.shape, 255, np.uint8)
    p = np.c_[path[:, 0] - c.x0, c.y1 - path[:, 1]] * c.ppm
    cv2.polylines(low, [(p * 16 - 8).round().astype(np.int32)], False, 0, 1, cv2.LINE_8, shift=4)
    return cv2.distanceTransform(low, cv2.DIST_L2, 5) / c.ppm


def dust_points(seed: int, count: int) -> list[tuple[float, float]]:
    rng = np.random.default_rng(seed)
    return [(float(rng.uniform(-150, 150)), float(rng.uniform(5, 380))) for _ in range(count)]


def dust_sizes(seed: int, count: int) -> list[float]:
    return [float(v) for v in np.random.default_rng(seed + 1).uniform(0.1, 0.32, count)]


def chipped(centre: tuple[float, float], radius: float, least: float, most: float, seed: int) -> Array:
    """A ragged ring's outer edge around a bore."""
    rng = np.random.default_rng(seed)
    t = np.linspace(0, 2 * np.pi, 240, endpoint=False)
    ragged = np.zeros_like(t)
    for k in range(2, 16):
        ragged += rng.normal(0, 1 / k**0.7) * np.cos(k * t + rng.uniform(0, 6.3))
    ragged = (ragged - ragged.min()) / np.ptp(ragged)
    r = radius + least + (most - least) * ragged**1.6
    return np.c_[centre[0] + r * np.cos(t), centre[1] + r * np.sin(t)]


def binding(c: Canvas, outline: Array) -> None:
    shape = Polygon(outline)
    cream = lin("dcc088") * (1 + 0.03 * c.noise(8, 8))[..., None] * np.array([1, 0.98, 0.92], np.float32)
    strip = 1 - c.mask(rings_of(shape.buffer(-2.6)))
    c.blend(strip, cream)
    black = c.mask(rings_of(shape.buffer(-2.55)) + rings_of(shape.buffer(-3.55)))
    c.blend(black * 0.95, lin("140d09"))


def maple(c: Canvas, along_x: bool = False) -> Array:
    """Flamed maple under brown-amber lacquer: grain along y (or x), flame across it."""

    def n(a: float, b: float) -> Array:
        return c.noise(b, a) if along_x else c.noise(a, b)

    coordinate = (c.x + 0 * c.y) if along_x else (c.y + 0 * c.x)
    side = 0.0 if along_x else np.abs(c.x) * 0.22
    bend = 2.0 * n(18, 40) + 0.8 * n(7, 20)
    wave = np.sin((coordinate + side + bend) * 2 * np.pi / 8.2 + 0.9 * n(40, 30))
    amount = np.clip(0.6 + 0.45 * n(30, 45), 0.08, 1.25)
    fine = 0.5 * n(0.22, 9) + 0.4 * n(0.6, 30) + 0.5 * n(5, 120)
    flecks = np.clip(n(0.35, 1.6) - 1.6, 0, 2)
    value = 0.5 + 0.17 * wave * amount + 0.07 * fine - 0.07 * flecks
    value = np.clip(value, 0, 1)[..., None]
    low, high = lin("7a3d16"), lin("c8843c")
    return (low * (1 - value) + high * value).astype(np.float32)


def back(folder: Path) -> None:
    c = Canvas(-165, 165, -5, 395, 12.5, 21)
    outline = g.outline()
    c.rgb = maple(c)
    d = edge_distance(c, outline) + 3 * c.noise(40, 40)
    burst = np.clip(1 - d / 60, 0, 1)[..., None] ** 1.5
    c.rgb *= 1 - 0.55 * burst * np.array([0.75, 1.0, 1.1], np.float32)
    seam = (np.abs(c.x) < 3.2).astype(np.float32) * np.ones_like(c.y)
    dashes = 0.5 + 0.5 * np.sign(np.sin((c.y + np.abs(c.x) * 1.0) * 2 * np.pi / 5.0))
    strip = np.where(np.abs(c.x) > 2.5, 0.03, np.where(dashes > 0.5, 0.10, 0.42)).astype(np.float32)
    c.blend(seam, strip[..., None] * lin("ffd9a0"))
    c.height += 0.008 * c.noise(0.4, 6) + 0.02 * c.noise(20, 3)
    c.rough = 0.26 + 0.02 * c.noise(14, 14)
    scratch = c.scratches(420, 10, 23)
    c.rgb *= (1 + 0.16 * scratch)[..., None]
    c.rough += 0.15 * scratch

    region = g.checking()
    area = c.mask(rings_of(region), 0.25)
    haze = np.clip(0.19 + 0.03 * c.noise(6, 6) + 0.02 * c.noise(1.5, 1.5), 0.1, 0.3)
    c.blend(area * haze, lin("b59a72"))
    c.rough += 0.20 * area
    c.coat *= 1 - 0.55 * area
    rng = np.random.default_rng(5)
    x0, y0, x1, y1 = region.bounds
    points = rng.uniform((x0 - 6, (y0 - 6) / 2.2), (x1 + 6, (y1 + 6) / 2.2), (2900, 2))
    cells = Voronoi(points)
    paths, faint = [], []
    for a, b in cells.ridge_vertices:
        if a >= 0 and b >= 0:
            p = cells.vertices[[a, b]] * (1, 2.2)
            middle = p.mean(0)
            t = np.linspace(0, 1, 4)[:, None]
            q = p[0] * (1 - t) + p[1] * t + rng.normal(0, 0.12, (4, 2)) * np.array([[0], [1], [1], [0]])
            if abs(middle[0]) < 200 and np.hypot(*(p[1] - p[0])) < 25:
                (paths if rng.random() < 0.72 else faint).append(q)
    net = np.maximum(c.lines(paths, 0.1), 0.45 * c.lines(faint, 0.08)) * c.mask(rings_of(region), 0.1)
    strength = np.clip(0.42 + 0.16 * c.noise(9, 9) + 0.12 * c.noise(1.5, 1.5), 0.12, 0.75)
    c.blend(net * strength, lin("e2c796"))
    c.height -= 0.03 * net
    c.rough += 0.2 * net
    binding(c, outline)
    c.save(folder, "back")


def side(folder: Path, after: bool) -> None:
    """Ribs unrolled: x is the length along the outline from the tail's middle, y is z of the instrument."""
    c = Canvas(-582, 582, -76, 2, 13.0, 33)
    c.rgb = maple(c, along_x=True) * np.array([1.0, 0.95, 0.9], np.float32)
    edge = np.clip(np.minimum(-c.y - 6, c.y + 66), 0, 40) / 22
    c.rgb *= (0.62 + 0.38 * np.clip(edge, 0, 1))[..., None]
    scratch = c.scratches(500, 7, 34)
    c.rgb *= (1 + 0.2 * scratch)[..., None]
    c.height += 0.008 * c.noise(6, 0.4) - 0.01 * scratch
    c.rough = 0.25 + 0.02 * c.noise(10, 10) + 0.15 * scratch
    joint = np.exp(-(((np.abs(c.x) - 9.0) / 0.22) ** 2)) * np.ones_like(c.y)
    inlay = (np.abs(c.x) < 9.0) * np.ones_like(c.y)
    c.blend(
        inlay.astype(np.float32),
        lin("3a1c10") * (1 + 0.12 * c.noise(0.3, 12) + 0.06 * c.noise(2, 40))[..., None],
    )
    c.blend(joint.astype(np.float32), lin("c9a871"))
    r = np.hypot(c.x, c.y - g.PIN_Z)
    collar = np.exp(-(((r - 7.6) / 0.35) ** 2))
    c.rgb *= (1 - 0.45 * collar)[..., None]
    c.height -= 0.05 * collar
    c.rgb *= (1 + 0.10 * np.clip(1 - (r - 6.8) / 0.7, 0, 1))[..., None]
    pale = lin("c79a66") * (1 + 0.10 * c.noise(0.4, 0.4) + 0.08 * c.noise(0.2, 3))[..., None]
    if after:
        ring = np.clip((g.BUSHING_OUTER / 2 - r) * c.ppm * 0.7 + 0.5, 0, 1)
        c.blend(ring, lin("2b150c") * (1 + 0.15 * c.noise(0.2, 6) + 0.08 * c.noise(1, 20))[..., None])
        c.rgb *= (1 - 0.5 * np.exp(-(((r - g.BUSHING_OUTER / 2) / 0.10) ** 2)))[..., None]
        c.rough += 0.06 * ring
    else:
        chip = c.mask([chipped((0, g.PIN_Z), g.END_PIN_DIAMETER / 2, 0.12, 1.35, 6)], 0.05)
        c.blend(chip, pale)
        c.coat *= 1 - chip
        c.rough += 0.35 * chip
        c.height -= chip * (0.10 + 0.03 * c.noise(0.4, 0.4)) * np.clip(1.4 - (r - 4.55), 0.2, 1)
    for low, high in ((-6.0, 5.0), (-80.0, -66.5)):
        strip = ((c.y > low) & (c.y < high)).astype(np.float32) * np.ones_like(c.x)
        c.blend(
            strip,
            lin("dcc088") * (1 + 0.03 * c.noise(8, 2))[..., None] * np.array([1, 0.97, 0.9], np.float32),
        )
    for line in (-6.4, -66.1):
        c.blend((np.abs(c.y - line) < 0.4).astype(np.float32) * np.ones_like(c.x), lin("140d09"))
    c.save(folder, f"side_{'after' if after else 'before'}")


def head(folder: Path) -> None:
    """The headstock's back (x across as in the instrument, y along) in stained hardwood."""
    c = Canvas(-45, 45, -12, 178, 14.0, 51)
    band = 0.5 * c.noise(3, 150) + 0.5 * c.noise(1.1, 90) + 0.4 * c.noise(9, 120)
    pores = np.clip(c.noise(0.16, 2.6) - 1.25, 0, 2)
    fibre = c.noise(0.12, 7)
    value = np.clip(0.5 + 0.16 * band + 0.05 * fibre, 0, 1)[..., None]
    c.rgb = (lin("4d2110") * (1 - value) + lin("9a5428") * value).astype(np.float32)
    c.rgb *= (1 - 0.38 * np.clip(pores, 0, 1.3))[..., None]
    ribbon = np.sin(c.x * 2 * np.pi / 13 + 1.2 * c.noise(8, 60))
    c.rgb *= (1 + 0.05 * ribbon)[..., None]
    c.height += -0.02 * np.clip(pores, 0, 1.5) + 0.006 * c.noise(1, 20)
    c.rough = 0.3 + 0.03 * c.noise(10, 10)
    scratch = c.scratches(160, 6, 52)
    c.rgb *= (1 + 0.25 * scratch)[..., None]
    c.rough += 0.2 * scratch
    for v in (-26.5, 26.5):
        ghost = c.mask([np.array([(v - 8, 30.2), (v + 8, 30.2), (v + 8, 153.4), (v - 8, 153.4)])], 0.35)
        c.rgb *= (1 - 0.4 * ghost)[..., None]
    worn = np.clip(1 - np.abs(c.y - 166) / 9, 0, 1) * np.clip(0.5 + 0.6 * c.noise(6, 4), 0, 1)
    c.blend(worn * 0.35, lin("a87446") * np.ones((1, 1, 3), np.float32))
    c.save(folder, "head")


def card(folder: Path, number: int) -> None:
    """A size card: 56 mm square, marker side 40 mm, 21 texels a mm."""
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    c = Canvas(-28, 28, -28, 28, 21.0, 600 + number)
    marker = cv2.aruco.generateImageMarker(dictionary, number, 840, borderBits=1).astype(np.float32) / 255
    page = np.ones(c.shape, np.float32)
    page[168:1008, 168:1008] = marker
    paper = 0.84 * (1 + 0.012 * c.noise(0.3, 0.3) + 0.01 * c.noise(8, 8))
    ink = 0.030 * (1 + 0.10 * c.noise(0.2, 0.2) + 0.08 * c.noise(5, 5))
    grey = page * paper + (1 - page) * ink
    c.rgb = (grey[..., None] * np.array([1.0, 0.985, 0.955], np.float32)).astype(np.float32)
    c.rough[:] = 0.8
    c.coat[:] = 0
    picture = np.clip(srgb(c.rgb) * 255, 0, 255).round().astype(np.uint8)
    cv2.imwrite(str(folder / f"card_{number}.png"), picture[..., ::-1])


def cloth(folder: Path) -> None:
    """A tile of heavy grey-green canvas, 160 mm at 10 texels a mm; wraps round."""
    size, ppm = 1600, 10.0
    rng = np.random.default_rng(70)
    x = np.arange(size)[None, :] / ppm
    y = np.arange(size)[:, None] / ppm

    def wrap(cell: float) -> Array:
        n = max(4, int(160 / cell))
        small = np.pad(rng.standard_normal((n, n)), 4, mode="wrap").astype(np.float32)
        scale = size / n
        big = cv2.resize(small, None, fx=scale, fy=scale, interpolation=cv2.INTER_CUBIC)
        o = round(4 * scale)
        return big[o : o + size, o : o + size]

    pitch = 160 / 200
    wx = x + 0.05 * wrap(5)
    wy = y + 0.05 * wrap(5)
    warp = np.abs(np.sin(np.pi * wx / pitch))
    weft = np.abs(np.sin(np.pi * wy / pitch))
    over = np.sign(np.sin(np.pi * wx / pitch) * np.sin(np.pi * wy / pitch))
    height = np.where(over > 0, warp * 0.9 + 0.25 * weft, weft * 0.9 + 0.25 * warp)
    slub = 0.12 * wrap(2.5) + 0.10 * wrap(0.5)
    value = (0.55 + 0.45 * height) * (1 + 0.14 * slub + 0.05 * wrap(30))
    rgb = value[..., None] * lin("5d665c")
    nap = np.clip(wrap(0.6) - 2.3, 0, 1)[..., None]
    rgb = rgb + nap * 0.10
    cv2.imwrite(str(folder / "cloth.png"), (srgb(rgb) * 255).round().astype(np.uint8)[..., ::-1])
    h = np.clip(0.25 * height + 0.05 * slub + 0.3, 0, 1)
    cv2.imwrite(str(folder / "cloth_height.png"), (h * 65535).astype(np.uint16))


def bench(folder: Path) -> None:
    """Used beech bench boards, 1500 x 1500 mm at 3.2 texels a mm, boards along x."""
    c = Canvas(-750, 750, -750, 750, 3.2, 80)
    board = np.floor((c.y + 2000) / 118).astype(int) * np.ones_like(c.x, int)
    rng = np.random.default_rng(81)
    tone = rng.normal(0, 1, 60)[board % 60].astype(np.float32)
    grain = 0.5 * c.noise(150, 1.2) + 0.5 * c.noise(90, 4) + 0.4 * c.noise(300, 14)
    flecks = np.clip(c.noise(3.5, 0.5) - 1.3, 0, 2)
    value = np.clip(0.55 + 0.09 * grain + 0.10 * tone - 0.08 * flecks, 0, 1)[..., None]
    c.rgb = (lin("6b4423") * (1 - value) + lin("c29562") * value).astype(np.float32)
    stains = np.clip(c.noise(60, 40) * 0.6 + c.noise(15, 12) * 0.4 - 1.0, 0, 0.5)
    c.rgb *= (1 - 0.22 * stains)[..., None]
    gap = np.abs(np.mod(c.y + 2000, 118) - 59) > 58.4
    c.rgb *= (1 - 0.8 * gap.astype(np.float32) * np.ones_like(c.x))[..., None]
    scratch = c.scratches(420, 16, 82)
    c.rgb *= (1 - 0.35 * scratch)[..., None]
    c.height += 0.05 * grain * 0.3 - 0.2 * scratch - 0.5 * gap
    c.rough = 0.52 + 0.06 * c.noise(30, 30) - 0.08 * stains
    c.coat[:] = 0
    c.save(folder, "bench")


def main() -> None:
    folder = Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    wanted = sys.argv[2:] or ["before", "after", "common"]
    if "common" in wanted:
        back(folder)
        head(folder)
        cloth(folder)
        bench(folder)
        for number in range(24):
            card(folder, number)
    for state in ("before", "after"):
        if state in wanted:
            top(folder, state == "after")
            side(folder, state == "after")


if __name__ == "__main__":
    main()

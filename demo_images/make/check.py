"""Checks the developed photographs against truth.json and draws the truth over them.

Usage: check.py PHOTO_FOLDER TRUTH.json [PICTURE_FOLDER] [NAME ...]. Exit status 1 where a figure is out of bounds:
cards all found and corners within 1 px, hole centres within 0.3 px, areas of finish loss within 1 %.
"""

import json
import sys
from pathlib import Path

import cv2
import numpy as np
from PIL import Image, ImageOps

Array = np.ndarray


def linear(v: Array) -> Array:
    v = v.astype(np.float32) / 255
    return np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4).astype(np.float32)


def at(picture: Array, xy: Array) -> Array:
    """Bilinear samples at points of the corner-origin convention."""
    xy = np.asarray(xy, np.float32)
    return cv2.remap(picture, xy[..., 0] - 0.5, xy[..., 1] - 0.5, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)


def detect(grey: Array) -> dict[int, Array]:
    found: dict[int, Array] = {}
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    for scale in (1.0, 0.5):
        for constant in (7, 12):
            p = cv2.aruco.DetectorParameters()
            p.adaptiveThreshConstant = constant
            p.adaptiveThreshWinSizeMax = 63
            p.adaptiveThreshWinSizeStep = 20
            p.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
            image = grey if scale == 1 else cv2.resize(grey, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
            corners, ids, _ = cv2.aruco.ArucoDetector(dictionary, p).detectMarkers(image)
            for c, i in zip(corners, [] if ids is None else ids.ravel(), strict=True):
                found.setdefault(int(i), (c[0] + 0.5) / scale)
    return found


def crossing(profile: Array, positions: Array) -> float | None:
    low, high = np.median(profile[:6]), np.median(profile[-6:])
    if abs(high - low) < 0.05:
        return None
    half = (low + high) / 2
    sign = np.sign(high - low)
    k = np.nonzero((profile[:-1] - half) * sign < 0)[0]
    k = [i for i in k if (profile[i + 1] - half) * sign >= 0]
    if not k:
        return None
    i = min(k, key=lambda j: abs(positions[j]))
    t = (half - profile[i]) / (profile[i + 1] - profile[i])
    return float(positions[i] + t * (positions[i + 1] - positions[i]))


def line_corners(light: Array, quad: Array) -> Array:
    """Corners from lines fitted to the marker's four edges in linear light."""
    lines = []
    for a, b in zip(quad, np.roll(quad, -1, 0), strict=True):
        along = (b - a) / np.linalg.norm(b - a)
        normal = np.array([along[1], -along[0]])
        reach = np.linspace(-6, 6, 49)
        hits = []
        for t in np.linspace(0.08, 0.92, 60):
            p = a + t * (b - a)
            got = crossing(at(light, (p + reach[:, None] * normal)[None])[0], reach)
            if got is not None:
                hits.append(p + got * normal)
        hits = np.array(hits)
        for _ in range(3):
            mid = hits.mean(0)
            direction = np.linalg.svd(hits - mid)[2][0]
            off = (hits - mid) @ np.array([-direction[1], direction[0]])
            hits = hits[np.abs(off) < max(0.15, 2.5 * np.median(np.abs(off)) * 1.48)]
        lines.append((mid, direction))
    out = []
    for k in range(4):
        (p, d), (q, e) = lines[k - 1], lines[k]
        t = np.linalg.solve(np.c_[d, -e], q - p)[0]
        out.append(p + t * d)
    return np.array(out)


def hole(light: Array, ring: Array) -> tuple[Array, float]:
    """Centre and scale of the ellipse where a bore's dark meets its rim, started from the true ring."""
    centre = ring.mean(0)
    hits, truth = [], []
    for p in ring:
        r = np.linalg.norm(p - centre)
        d = (p - centre) / r
        reach = np.linspace(max(-0.45 * r, -12), min(0.28 * r + 1.2, 5), 80)
        profile = at(light, (p + reach[:, None] * d)[None])[0]
        slope = np.gradient(cv2.GaussianBlur(profile[None].astype(np.float32), (0, 0), 1.2)[0])
        k = int(np.argmax(slope))
        if 1 < k < 78:
            hits.append(p + reach[k] * d)
            truth.append(p)
    hits, truth = np.array(hits), np.array(truth)
    a = np.c_[np.tile(np.eye(2), (len(hits), 1)), (truth - centre).ravel()]
    b = (hits - truth).ravel()
    keep = np.ones(len(b), bool)
    for _ in range(5):
        x = np.linalg.lstsq(a[keep], b[keep], rcond=None)[0]
        res = np.abs(b - a @ x)
        keep = res < max(0.4, 2.5 * np.median(res[keep]))
    return x[:2], 1 + float(x[2])


def project(p: dict, xy: Array) -> Array:
    c, f = p["camera"], p["plane"]
    pose = np.array(c["world_to_camera"])
    w = np.array(f["origin"]) + xy[..., :1] * np.array(f["right"]) + xy[..., 1:] * np.array(f["up"])
    cam = w @ pose[:, :3].T + pose[:, 3]
    d = cam[..., :2] / cam[..., 2:] * c["focal_px"]
    r2 = (d**2).sum(-1, keepdims=True) / c["half_diagonal_px"] ** 2
    return np.array(c["principal_point_px"]) + d * (1 + c["k1"] * r2)


def mask_of(parts: list, x0: float, y1: float, step: float, shape: tuple[int, int]) -> Array:
    m = np.zeros(shape, np.uint8)
    rings = [((np.array(r) - (x0, y1)) * (1 / step, -1 / step) - 0.5) for p in parts for r in p]
    cv2.fillPoly(m, [(r * 256).round().astype(np.int32) for r in rings], 1, shift=8)
    return m


def halfway_area(p: dict, light: Array, finding: dict) -> float:
    """Area inside the contour halfway between the colours of bare wood and lacquer, measured in true mm."""
    outer = np.vstack([r for part in finding["parts_mm"] for r in part])
    step = 0.1
    x0, y1 = outer[:, 0].min() - 8, outer[:, 1].max() + 8
    shape = (int((y1 - outer[:, 1].min() + 8) / step), int((outer[:, 0].max() + 8 - x0) / step))
    gx, gy = np.meshgrid(x0 + (np.arange(shape[1]) + 0.5) * step, y1 - (np.arange(shape[0]) + 0.5) * step)
    flat = at(light, project(p, np.dstack([gx, gy])))
    flat = cv2.GaussianBlur(flat, (0, 0), 0.12 / step)
    truth = mask_of(finding["parts_mm"], x0, y1, step, shape)
    far_in = cv2.erode(truth, np.ones((9, 9))) > 0
    near = cv2.dilate(truth, np.ones((41, 41))) > 0
    far_out = (cv2.dilate(truth, np.ones((13, 13))) == 0) & near
    basis = np.dstack([np.ones_like(gx), gx - gx.mean(), gy - gy.mean()])
    fits = []
    for part in (far_in, far_out):
        k = np.linalg.lstsq(basis[part], flat[part], rcond=None)[0]
        fits.append(basis @ k)
    span = fits[0] - fits[1]
    axis = span / (span**2).sum(-1, keepdims=True)
    share = ((flat - fits[1]) * axis).sum(-1)
    allowed = cv2.dilate(truth, np.ones((11, 11))) > 0
    core = cv2.erode(truth, np.ones((11, 11))) > 0
    inside = ((share > 0.5) & allowed) | core
    return float(inside.sum() * step**2)


def draw(p: dict, picture: Array, folder: Path, scale: float = 0.4) -> None:
    big = cv2.resize(picture[..., ::-1], None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA).copy()
    tint = [(0, 255, 255), (255, 0, 255), (255, 255, 0), (0, 255, 0), (0, 0, 255)]

    def stroke(points: list, colour: tuple[int, int, int], closed: bool) -> None:
        q = ((np.array(points) * scale - 0.5) * 16).round().astype(np.int32)
        cv2.polylines(big, [q], closed, colour, 1, cv2.LINE_AA, shift=4)

    for c in p["cards"]:
        stroke(c["corners_px"], (0, 255, 0), True)
    if "outline_px" in p:
        stroke(p["outline_px"], (255, 0, 0), True)
    for k, f in enumerate(p["findings"]):
        colour = tint[k % 5]
        for ring in f.get("rings_px", []) + [r for part in f.get("parts_px", []) for r in part]:
            stroke(ring, colour, True)
        if "path_px" in f:
            stroke(f["path_px"], colour, False)
    cv2.imwrite(str(folder / f"truth_{Path(p['file']).stem}.png"), big)


def check(p: dict, folder: Path, pictures: Path | None) -> list[str]:
    faults = []
    with Image.open(folder / p["file"]) as opened:
        picture = np.asarray(ImageOps.exif_transpose(opened).convert("RGB"))
    if picture.shape[1::-1] != (p["width"], p["height"]):
        faults.append(f"size {picture.shape[1::-1]}")
    rgb = linear(picture)
    light = rgb @ np.array([0.2126, 0.7152, 0.0722], np.float32)
    found = detect(cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY))
    print(p["file"], "cards found", sorted(found), "of", sorted(c["id"] for c in p["cards"]))
    if not {c["id"] for c in p["cards"]} <= set(found):
        faults.append("cards")
    for c in p["cards"]:
        if c["id"] in found:
            true = np.array(c["corners_px"])
            plain = np.abs(found[c["id"]] - true).max()
            fitted = np.linalg.norm(line_corners(light, found[c["id"]]) - true, axis=1)
            print(
                f"  card {c['id']:2d}: detector {plain:.2f}, lines mean {fitted.mean():.3f} max {fitted.max():.3f} px"
            )
            if fitted.max() > 1:
                faults.append(f"card {c['id']}")
    for f in p["findings"]:
        if f["kind"] in ("screw hole", "enlarged hole"):
            off, grow = hole(light, np.array(f["rings_px"][0]))
            print(f"  {f['name']}: centre off {off.round(3)} px, radius x {grow:.4f}")
            if np.linalg.norm(off) > 0.3:
                faults.append(f"{f['name']} centre")
        if f["kind"] == "finish loss":
            area = halfway_area(p, rgb, f)
            print(f"  {f['name']}: halfway area {area:.1f} of {f['values']['area_mm2']} mm2")
            if abs(area / f["values"]["area_mm2"] - 1) > 0.01:
                faults.append(f"{f['name']} area")
    if pictures:
        draw(p, picture, pictures)
    return [f"{p['file']}: {x}" for x in faults]


def main() -> int:
    folder = Path(sys.argv[1])
    truth = json.loads(Path(sys.argv[2]).read_text(encoding="utf-8"))
    pictures = Path(sys.argv[3]) if len(sys.argv) > 3 else None
    only = set(sys.argv[4:])
    faults = []
    for p in truth["photos"] + truth["return"]["photos"]:
        if (folder / p["file"]).exists() and (not only or Path(p["file"]).stem in only):
            faults += check(p, folder, pictures)
    print("\n".join(faults) if faults else "all within bounds")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())

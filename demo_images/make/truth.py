"""Writes demo_images/truth.json: what is in every photograph, exactly.

Usage: truth.py OUT.json. Pictures are looked for beside OUT.json; one that is not there is left out.
"""

import json
import sys
from pathlib import Path

import geometry as g
import numpy as np
from build import tuner_stations
from shapely.geometry import LineString, Polygon, box
from shots import INTAKE, RETURN, Shot

ABOUT = {
    "what": "Exact truth of the demonstration photographs, which are rendered from a model made for this project. "
    "'photos' are those of the intake, 'return.photos' those of the return.",
    "pixels": "x right, y down in the upright photo (EXIF Orientation applied); the corner of the top-left pixel is "
    "(0, 0), its centre (0.5, 0.5). All *_px go through the true camera, lens distortion included.",
    "millimetres": "World frame of the instrument: x right and y to the headstock as seen from the front, z out of "
    "the top, whose face is z = 0. *_mm of shapes are (x, y) in the photo's plane: world = origin + x right + y up.",
    "camera": "c = R w + t for a world point w in mm (rows of world_to_camera are [R | t]; camera x right, y down, z "
    "forward); d = focal_px (c_x, c_y) / c_z; r = |d| / half_diagonal_px; "
    "px = principal_point + d (1 + k1 r^2).",
    "cards": "corners in the marker's own order: top left, top right, bottom right, bottom left. Marker side 40 mm, "
    "dictionary DICT_4X4_50, white margin 8 mm.",
    "surface_height_mm": "height of the measured surface above the cards' printed faces, positive towards the camera. "
    "Cards that lie on the surface are 0.1 mm thick, which is left in the figure.",
    "outline": "outer edge of the body or headstock; its upper edge is rounded (radius 0.7 mm on the body, 1.3 mm on "
    "the headstock): outline_px is projected at outline_height_mm of the plane.",
    "findings": "kind is a word of the trade list; values are true sizes in mm or mm2; centre, path or rings (outer "
    "ring and holes) give the place; visible is the share in the picture. A crack has width_mm [mean, least, most].",
}

Pairs = list[list[float]]


def pairs(points: np.ndarray, digits: int = 3) -> Pairs:
    return [[round(float(v), digits) for v in p] for p in points]


def on_plane(s: Shot, xy: np.ndarray, height: float = 0.0) -> np.ndarray:
    xy = np.atleast_2d(np.asarray(xy, float))
    return s.plane.origin + xy[:, :1] * s.plane.right + xy[:, 1:2] * s.plane.up + height * s.plane.normal


def px(s: Shot, xy: np.ndarray, height: float = 0.0) -> np.ndarray:
    return s.project(on_plane(s, xy, height))


def share_inside(s: Shot, points: np.ndarray, closed: bool) -> float:
    frame = box(0, 0, *s.size)
    shape = Polygon(points).buffer(0) if closed else LineString(points)
    whole = shape.area if closed else shape.length
    part = shape.intersection(frame)
    return round((part.area if closed else part.length) / whole, 4)


def point(s: Shot, name: str, kind: str, state: str, xy: tuple[float, float], words: str, **values: float) -> dict:
    ring = px(s, g.circle(*xy, values["diameter_mm"]))
    return {
        "name": name,
        "kind": kind,
        "state": state,
        "words": words,
        "values": values,
        "centre_mm": list(xy),
        "centre_px": pairs(px(s, np.array([xy])))[0],
        "rings_px": [pairs(ring)],
        "visible": share_inside(s, ring, True),
    }


def line(s: Shot, name: str, kind: str, state: str, path: np.ndarray, words: str, **values: object) -> dict:
    shown = px(s, path)
    return {
        "name": name,
        "kind": kind,
        "state": state,
        "words": words,
        "values": values,
        "path_mm": pairs(path),
        "path_px": pairs(shown),
        "visible": share_inside(s, shown, False),
    }


def region(
    s: Shot, name: str, kind: str, state: str, parts: list[list[np.ndarray]], words: str, **values: object
) -> dict:
    """`parts` are lists of an outer ring and its holes in plane mm."""
    thin = [[np.array(Polygon(r).simplify(0.02).exterior.coords)[:-1] for r in p] for p in parts]
    shown = [[px(s, r) for r in p] for p in thin]
    largest = max((p[0] for p in shown), key=lambda r: Polygon(r).area)
    return {
        "name": name,
        "kind": kind,
        "state": state,
        "words": words,
        "values": values,
        "parts_mm": [[pairs(r) for r in p] for p in thin],
        "parts_px": [[pairs(r) for r in p] for p in shown],
        "visible": share_inside(s, largest, True),
    }


def split(shape: object, mirror: bool = False) -> list[list[np.ndarray]]:
    flip = np.array([-1.0 if mirror else 1.0, 1.0])
    parts = getattr(shape, "geoms", [shape])
    return [[np.array(r.coords)[:-1] * flip for r in (p.exterior, *p.interiors)] for p in parts]


def top_findings(s: Shot) -> list[dict]:
    after = s.after
    path, width = g.crack()
    found = []
    if after:
        found.append(
            line(
                s,
                "top crack",
                "crack",
                "repaired",
                path,
                "closed and glued; a hair line remains",
                length_mm=148.0,
                width_mm=[0.12, 0.12, 0.12],
            )
        )
    else:
        found.append(
            line(
                s,
                "top crack",
                "crack",
                "open",
                path,
                "open along the grain, from the bridge to beside the sound hole",
                length_mm=148.0,
                width_mm=[round(float(f(width)), 3) for f in (np.mean, np.min, np.max)],
            )
        )
    x0, x1 = g.LIFT_X
    rear = np.array([(x0, g.BRIDGE_REAR_Y), (x1, g.BRIDGE_REAR_Y)])
    found.append(
        line(
            s,
            "bridge",
            "lifted",
            "repaired" if after else "open",
            rear,
            "glued down, no gap" if after else "dark gap along the rear edge of the foot",
            length_mm=0.0 if after else x1 - x0,
        )
    )
    for k, hole in enumerate(g.armrest_holes(), 1):
        found.append(
            point(
                s,
                f"armrest hole {k}",
                "filled hole" if after else "screw hole",
                "repaired" if after else "open",
                hole,
                "plugged flush" if after else "bored through the top",
                diameter_mm=g.ARMREST_DIAMETER,
            )
        )
    found.append(
        point(
            s,
            "doubtful spot",
            "other",
            "as it was" if after else "open",
            g.doubtful_spot(),
            "a shallow dark pit about as wide as the screw holes; not a bore",
            diameter_mm=g.DOUBTFUL_DIAMETER,
        )
    )
    unchanged = "as it was" if after else "open"
    found.append(
        region(
            s,
            "arm wear",
            "finish loss",
            unchanged,
            split(g.loss()),
            "bare wood from the player's arm, islands of finish left",
            area_mm2=1400.0,
        )
    )
    _, shape = g.groove()
    found.append(
        region(
            s,
            "plectrum wear",
            "wear groove",
            unchanged,
            split(shape),
            "beside the sound hole",
            length_mm=60.0,
            width_mm=9.0,
            depth_mm=0.4,
            area_mm2=round(shape.area, 2),
        )
    )
    lead = g.lead_path()[:, :2]
    found.append(
        line(
            s,
            "added pickup",
            "other",
            unchanged,
            np.vstack([[(31, 282.5)], [(-31, 282.5)], lead[1:], [(103, 71)]]),
            "bar at the fingerboard's end, lead under the strings, home-made jack plate (approximate path)",
            bar_length_mm=62.0,
        )
    )
    if after:
        x, y, size = g.DENT
        found.append(point(s, "dent", "dent", "new", (x, y), "round dent in the top", diameter_mm=size, depth_mm=0.55))
    return found


def tail_findings(s: Shot) -> list[dict]:
    if s.after:
        return [
            point(
                s,
                "end-pin hole",
                "enlarged hole",
                "repaired",
                (0.0, g.PIN_Z),
                "bushed; the bushing is 13.0 mm across",
                diameter_mm=g.BUSHING_BORE,
                bushing_mm=g.BUSHING_OUTER,
            )
        ]
    return [
        point(
            s,
            "end-pin hole",
            "enlarged hole",
            "open",
            (0.0, g.PIN_Z),
            "worn wide, rim chipped",
            diameter_mm=g.END_PIN_DIAMETER,
        )
    ]


def head_findings(s: Shot) -> list[dict]:
    if not s.after:
        return []
    u = tuner_stations()[1] + 19.5
    return [
        point(
            s,
            "plate screw",
            "other",
            "new",
            (26.5 + 0.2, u),
            "one plate screw is of another kind: cross recess, brass",
            diameter_mm=4.6,
        )
    ]


def plate_screws(s: Shot) -> Pairs:
    us = [u + 19.5 for u in tuner_stations()[:3]]
    spots = [s.plane.at(q * 26.5 + q * 0.2, u, 1.5) for q in (-1, 1) for u in us]
    return pairs(s.project(np.array(spots)))


def outline_of(s: Shot) -> tuple[np.ndarray, float] | None:
    if s.view == "front":
        return g.outline(), -0.35
    if s.view == "back":
        return g.outline() * (-1, 1), -0.35
    if s.view == "headstock back":
        return g.head_outline() * (-1, 1), -1.0
    return None


def photo(s: Shot) -> dict:
    rotation, eye = s.camera()
    pose = np.c_[rotation, -rotation @ eye]
    cards = []
    for c in s.cards:
        a = np.radians(c.turn)
        corner = np.array([(-20, 20), (20, 20), (20, -20), (-20, -20)], float)
        xy = corner @ np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]]) + (c.x, c.y)
        cards.append({"id": c.number, "corners_px": pairs(px(s, xy, s.card_height)), "corners_mm": pairs(xy)})
    width, height = s.size
    record = {
        "file": f"{s.name}.jpg",
        "view": s.view,
        "taken": s.taken + " +01:00",
        "width": width,
        "height": height,
        "exif_orientation": s.orientation,
        "exif_gps": s.gps is not None,
        "camera": {
            "focal_px": round(s.focal_px, 4),
            "focal_35mm": s.focal_35,
            "principal_point_px": [width / 2, height / 2],
            "k1": s.k1,
            "half_diagonal_px": float(np.hypot(width, height) / 2),
            "world_to_camera": [[round(float(v), 9) for v in r] for r in pose],
        },
        "plane": {k: [round(float(v), 9) for v in getattr(s.plane, k)] for k in ("origin", "right", "up", "normal")},
        "tilt_degrees": s.tilt,
        "roll_degrees": s.roll,
        "distance_mm": s.distance,
        "surface_height_mm": s.surface_height,
        "cards": cards,
    }
    shape = outline_of(s)
    if shape:
        ring, low = shape
        record |= {
            "outline_height_mm": low,
            "outline_area_mm2": round(Polygon(ring).area, 2),
            "outline_mm": pairs(ring),
            "outline_px": pairs(px(s, ring, low)),
            "outline_visible": share_inside(s, px(s, ring, low), True),
        }
    if s.view == "front":
        record["findings"] = top_findings(s)
    elif s.view == "back":
        record["findings"] = [
            region(
                s,
                "checking",
                "finish checking",
                "as it was" if s.after else "open",
                split(g.checking(), True),
                "fine network of cracks in the lacquer",
                area_mm2=9000.0,
            )
        ]
    elif s.view == "tail":
        record["findings"] = tail_findings(s)
    else:
        record["findings"] = head_findings(s)
        record["plate_screws_px"] = plate_screws(s)
    record["findings"] = [f for f in record["findings"] if f["visible"] > 0]
    return record


def main() -> None:
    target = Path(sys.argv[1])
    shown = [[photo(s) for s in shots if (target.parent / f"{s.name}.jpg").exists()] for shots in (INTAKE, RETURN)]
    out = {"about": ABOUT, "photos": shown[0], "return": {"photos": shown[1]}}
    text = json.dumps(out, ensure_ascii=False, indent=None, separators=(",", ":"))
    text = text.replace('{"file"', '\n{"file"').replace('{"name"', '\n {"name"').replace('"cards":[{', '\n "cards":[{')
    target.write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()

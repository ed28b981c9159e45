"""The steps behind the canvas's routes over a journal in one file, to test the canvas alone."""

from __future__ import annotations

import json
import math
import os
import threading
import time
from functools import cache
from itertools import pairwise
from pathlib import Path

import cv2
import numpy as np

from condition.errors import Refused
from condition.flow.assists import crack_costs, crack_ways, warm_up
from condition.pages.routes import Steps
from condition.records.shapes import shape_from_dict, shape_to_dict
from condition.words import say
from tests.pages.canvas.bench_photo import HOLES, crack_px, loss_px

MM_PER_PX = 0.1


class Journal:
    """Marks of all photos, made again from the operations written so far."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.path = folder / "journal.jsonl"
        self.lock = threading.Lock()
        self.answers: dict[str, dict] = {}
        self.marks: dict[str, dict] = {}
        self.numbers: dict[str, dict[str, int]] = {}
        if self.path.exists():
            for line in self.path.read_text().splitlines():
                self.take(json.loads(line))

    def take(self, operation: dict) -> dict:
        op, given = operation["op"], operation["mark"]
        if op in self.answers:
            return self.answers[op]
        standing = self.marks.get(given["id"])
        if (standing["version"] if standing else 0) != operation["version"]:
            sentence = say("store.stale", kind="mark", person="bench", at="10:15")
            return {"ok": False, "error": sentence, "mark": standing}
        if operation["do"] == "remove":
            gone = self.marks.pop(given["id"], None)
            answer = {"ok": True, "mark": None}
            if gone and given.get("joined") and gone["finding_id"] not in self.findings():
                answer["unmarked"] = gone["number"]
        else:
            shape = shape_from_dict(given["shape"])
            finding = (
                given["finding_id"]
                or (standing or {}).get("finding_id")
                or f"f0000000-0000-4000-8000-{given['id'][-12:]}"
            )
            numbers = self.numbers.setdefault(given["photo_id"], {})
            number = numbers.setdefault(finding, len(numbers) + 1)
            mark = {
                "id": given["id"], "photo_id": given["photo_id"], "finding_id": finding, "number": number,
                "kind": given["kind"], "shape": shape_to_dict(shape), "how": given["how"],
                "version": operation["version"] + 1,
                "measurements": [{"quantity": "size", "text": self.size(given["shape"])}],
            }  # fmt: skip
            self.marks[mark["id"]] = mark
            answer = {"ok": True, "mark": mark}
        self.answers[op] = answer
        return answer

    def findings(self) -> set[str]:
        return {mark["finding_id"] for mark in self.marks.values()}

    def size(self, shape: dict) -> str:
        if shape["shape"] == "circle":
            return f"⌀ {2 * shape['radius'] * MM_PER_PX:.2f} ± 0.06 mm"
        if shape["shape"] == "point":
            return ""
        points = shape["points"]
        if shape["shape"] == "line":
            return f"{sum(math.dist(a, b) for a, b in pairwise(points)) * MM_PER_PX:.1f} ± 0.4 mm"
        area = sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, points[1:] + points[:1], strict=True)) / 2
        return f"{abs(area) * MM_PER_PX**2:.0f} ± 12 mm²"

    def apply(self, _desk: object, operation: dict) -> dict:
        with self.lock:
            known = operation["op"] in self.answers
            answer = self.take(operation)
            if answer["ok"] and not known:
                with self.path.open("a") as out:
                    out.write(json.dumps(operation) + "\n")
                    out.flush()
                    os.fsync(out.fileno())
            return answer

    def marks_of(self, _desk: object, photo_id: str) -> list[dict]:
        with self.lock:
            return [mark for mark in self.marks.values() if mark["photo_id"] == photo_id]


def fake_steps(folder: Path) -> Steps:
    """Return steps over a folder that holds ``tiles/{photo}/...`` and gets ``journal.jsonl``."""
    journal = Journal(folder)

    def size(photo: str) -> tuple[int, int]:
        meta = json.loads((folder / "tiles" / photo / "meta.json").read_text())
        return meta["width"], meta["height"]

    def tile_file(_desk: object, photo: str, level: int, col: int, row: int) -> Path:
        return folder / "tiles" / photo / str(level) / f"{col}_{row}.jpg"

    @cache
    def drawn_crack(photo: str) -> np.ndarray:
        width, height = size(photo)
        rgb = np.random.default_rng(1).integers(170, 190, (height, width, 3), np.uint8)
        cv2.polylines(rgb, [np.int32(crack_px(width, height))], False, (60, 50, 40), 3)
        return rgb

    def ways(_desk: object, photo: str, start: tuple, turn: int, rough: bool, tone: str | None) -> bytes:
        return crack_ways(drawn_crack(photo), start, turn, tone, rough=rough)

    def sketch(_desk: object, photo: str) -> bytes:
        return crack_costs(drawn_crack(photo))

    def trace(_desk: object, photo: str, points: tuple, tone: str | None) -> dict:
        if tone == "light":
            raise Refused("assist.nothing_to_follow")
        crack = crack_px(*size(photo))
        nearest = [min(range(len(crack)), key=lambda i: math.dist(crack[i], p)) for p in points]
        if any(math.dist(crack[i], p) > 120 for i, p in zip(nearest, points, strict=True)):
            raise Refused("canvas.bad_assist")
        a, b = nearest
        path = crack[a : b + 1] if a <= b else crack[b : a + 1][::-1]
        return {"line": [list(points[0]), *map(list, path[1:-1]), list(points[-1])], "width_px": 3.1}

    def holes(_desk: object, photo: str, box: tuple, bright: bool) -> dict:
        width, height = size(photo)
        x, y, w, h = box
        found = [
            {"centre": [cx * width, cy * height], "diameter_px": 2 * r, "sure": sure}
            for cx, cy, r, sure in HOLES
            if x <= cx * width <= x + w and y <= cy * height <= y + h
        ]
        return {"holes": [] if bright else found}

    def grow(_desk: object, photo: str, start: tuple, amount: float, add: tuple, away: tuple) -> dict:
        width, height = size(photo)
        point = start if isinstance(start[0], float) else start[0]
        if math.dist(point, (width * 0.35, height * 0.25)) > height * 0.3:
            raise Refused("canvas.bad_assist")
        time.sleep(0.02)
        grown = 0.75 + amount / 2 + 0.1 * len(add) - 0.1 * len(away)
        return {"ring": [list(p) for p in loss_px(width, height, grown)], "holes": [], "edge_sd_px": 0.8}

    def outline(_desk: object, photo: str, _hint: tuple | None) -> dict:
        width, height = size(photo)
        return {"ring": [[10, 10], [width - 10, 10], [width - 10, height - 10], [10, height - 10]]}

    def ready(_desk: object, photo: str) -> None:
        warm_up()
        drawn_crack(photo)

    return Steps(
        lambda: None, tile_file, journal.marks_of, journal.apply, trace, ways, sketch, holes, grow, outline, ready
    )

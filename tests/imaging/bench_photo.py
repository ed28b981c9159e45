"""The demonstration's rendered bench photo of a face, and what is true of it (``demo_images/truth.json``)."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

import numpy as np

from condition.imaging.decode import decode

FOLDER = Path(__file__).parents[2] / "demo_images"


@cache
def bench_photo(name: str = "front.jpg") -> tuple[np.ndarray, dict[str, dict]]:
    """Return the upright picture and its findings by name."""
    rgb = decode((FOLDER / name).read_bytes(), name=name).rgb
    return rgb, {finding["name"]: finding for finding in _truth(name)["findings"]}


def outline_of(name: str) -> list[list[float]]:
    """Return the true outline of the face in a photo, upright pixels."""
    return _truth(name)["outline_px"]


def _truth(name: str) -> dict:
    truth = json.loads((FOLDER / "truth.json").read_text(encoding="utf-8"))
    (photo,) = (photo for photo in (*truth["photos"], *truth["return"]["photos"]) if photo["file"] == name)
    return photo

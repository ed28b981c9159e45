"""Planes that can be worked out on paper: one pixel is so many millimetres, seen straight from above."""

from __future__ import annotations

import math

from condition.imaging.pose import NAMES
from condition.records.plane import PhotoPlane, PlaneParameter


def flat_plane(
    mm_per_px: float = 1.0, scale_standard: float = 0.0, width: int = 4000, height: int = 3000
) -> PhotoPlane:
    """A plane whose only uncertainty is its scale: `scale_standard` relative, shared by all it measures."""
    focal = 4000.0
    values = dict.fromkeys(NAMES, 0.0) | {
        "ln_f": math.log(focal),
        "cx": width / 2,
        "cy": height / 2,
        "tz": focal * mm_per_px,
        "card_scale": 1.0,
    }
    column = tuple(scale_standard if name == "card_scale" else 0.0 for name in NAMES)
    return PhotoPlane(
        kind="cards",
        parameters=tuple(PlaneParameter(name, values[name]) for name in NAMES),
        sources=(("card side", (column,)),) if scale_standard else (),
        width=width,
        height=height,
        mm_per_px=mm_per_px,
    )

"""One shape drawn on a photo, kept as drawn."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from condition.records.shapes import Shape

How = Literal["hand", "freehand", "fitted", "traced", "grown", "imported"]


@dataclass(frozen=True, slots=True)
class Mark:
    """A shape in upright pixels of its photo; what it means is its finding.

    how : way of marking, which decides the pick's share of the uncertainty
    pick_sd_px : standard deviation of one placed point, pixels, when the canvas knows it (from its zoom)
    """

    id: str
    photo_id: str
    finding_id: str | None
    shape_px: Shape
    how: How = "hand"
    pick_sd_px: float | None = None
    version: int = 0

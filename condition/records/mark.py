"""One shape drawn on a photo, kept as drawn."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from condition.records.measurement import Measurement
from condition.records.shapes import Shape

How = Literal["hand", "freehand", "fitted", "traced", "grown", "imported"]
Role = Literal["finding", "outline", "known distance", "bank card"]


@dataclass(frozen=True, slots=True)
class Mark:
    """A shape in upright pixels of its photo; what it means is its finding.

    role : what the shape serves: a finding, the outline of the photo's view, a distance whose
        length is known, or the four corners of a bank card that lies on the surface
    how : way of marking, which decides the pick's share of the uncertainty
    pick_sd_px : standard deviation of one placed point, pixels, when the canvas knows it (from its zoom)
    measurements : what the photo says of the shape, derived from it and the photo's plane; made anew when either
        changes, and empty while the photo has no scale
    not_measured : catalogue code of the reason when there is nothing to read
    """

    id: str
    photo_id: str
    finding_id: str | None
    shape_px: Shape
    how: How = "hand"
    role: Role = "finding"
    pick_sd_px: float | None = None
    measurements: tuple[Measurement, ...] = ()
    not_measured: str = ""
    version: int = 0

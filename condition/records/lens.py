"""What calibration photos of the size cards said of one camera and lens."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Lens:
    """camera, lens : as EXIF names them; k1, k1_sd : radial distortion at the picture's corner and its standard
    uncertainty; photo_count : photos it was learned from"""

    id: str
    camera: str
    lens: str
    k1: float
    k1_sd: float
    photo_count: int
    learned_at: str = ""
    version: int = 0

"""How a photo lies on the base photo of its face: found from the pictures, or placed by hand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from condition.records.shapes import Pair

PlacingHow = Literal["picture", "planes", "edges", "points"]


@dataclass(frozen=True, slots=True)
class Placing:
    """Where the places of a photo lie on the face's base photo; derived, so it can be found again.

    how : what it rests on: patches of both pictures, features joined in the millimetres of both planes, edges where
        the light differs, or points placed by hand
    matrix : nine numbers, row by row: from mm of the photo's plane to mm of the base's plane where ``in_mm``, else from
        upright pixels to upright pixels
    bend : twenty numbers of a smooth rest in base pixels (see ``condition.imaging.overlay``), or none
    residual_mm : rms of what its supports lie beside it, on the face; None when neither photo has a scale
    supports : patches, features or points that carry it
    seen : share of the photo that lies on the base photo, 0..1
    scale_ratio : millimetres by the photo's own plane over those by the base's plane, None when one has none
    refusal : catalogue code of why it is not trusted, empty when it is; a doubtful placing keeps its matrix so that it
        can be looked at
    """

    how: PlacingHow
    matrix: tuple[float, ...] = ()
    in_mm: bool = False
    bend: tuple[float, ...] = ()
    residual_mm: float | None = None
    supports: int = 0
    seen: float = 0.0
    scale_ratio: float | None = None
    refusal: str = ""


@dataclass(frozen=True, slots=True)
class PlacedByHand:
    """What a person said of where a photo lies on the base photo of its face.

    pairs : the same place in the photo and in the base photo, upright pixels of each
    confirmed : key of the found placing that was looked at and called right
    left_off : the photo is to stay off the face's map
    """

    id: str
    job_id: str
    photo_id: str
    base_photo_id: str
    pairs: tuple[tuple[Pair, Pair], ...] = ()
    confirmed: str = ""
    left_off: bool = False
    version: int = 0

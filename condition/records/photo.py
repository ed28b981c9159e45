"""One picture, kept byte for byte as it came."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from condition.records.plane import PhotoPlane, SizeCard

Occasion = Literal["intake", "strip-down", "out", "back", "returned", "other"]
Light = Literal["daylight", "raking", "ultraviolet", "transmitted", "other"]
AdviceLine = tuple[str, tuple[tuple[str, str], ...]]


@dataclass(frozen=True, slots=True)
class Photo:
    """A picture and what was read from it; the bytes are in the vault under ``sha256``.

    width, height : upright size in pixels
    taken : local time of the camera as text, ``YYYY-MM-DD HH:MM:SS``, empty when unknown
    taken_offset : ``+HH:MM`` when the camera said it; without it the time has no zone
    advice : catalogue codes with their values, as judged at intake
    cards : the size cards seen at intake, from which the plane is fitted
    camera_distance_mm : from the lens to the cards, as taped, when the photo does not say its focal length
    known_distance_mm : what the photo's 'known distance' mark measures in truth, when there is one
    plane_refusal, plane_refusal_values : catalogue code of the reason why the photo has no plane, with its values
    sheet_order : place in the job's list of photos
    """

    id: str
    job_id: str
    sha256: str
    file_name: str
    media_type: str
    width: int
    height: int
    byte_count: int = 0
    taken: str = ""
    taken_offset: str = ""
    focal_35mm: float | None = None
    camera: str = ""
    lens: str = ""
    has_location: bool = False
    view_id: str | None = None
    occasion: Occasion = "intake"
    light: Light = "daylight"
    caption: str = ""
    advice: tuple[AdviceLine, ...] = ()
    cards: tuple[SizeCard, ...] = ()
    surface_height_mm: float = 0.0
    surface_height_sd_mm: float = 0.5
    camera_distance_mm: float | None = None
    known_distance_mm: float | None = None
    known_distance_sd_mm: float = 0.5
    plane: PhotoPlane | None = None
    plane_refusal: str = ""
    plane_refusal_values: tuple[tuple[str, str], ...] = ()
    sheet_order: int = 0
    taken_in_at: str = ""
    version: int = 0

"""Embedded colour profiles: the conversion to sRGB, and whether one is needed.

Sources: ICC.1:2022 (profiles); ITU-T H.273 (colour numbers of HEIF); SMPTE EG 432-1 (P3 primaries, D65 white).
"""

from __future__ import annotations

import io
from collections.abc import Callable
from typing import Literal

import numpy as np
from PIL import Image, ImageCms

from condition.imaging.colour import LINEAR_OF_BYTE, coded

Outcome = Literal["none", "srgb", "converted", "unusable", "high dynamic range"]
Conversion = Callable[[Image.Image], Image.Image]
"""A strip of a picture in any mode, to mode RGB in sRGB."""

_GREY_MODES = ("1", "L", "LA", "La")
_P3_PRIMARIES = 12
_HDR_TRANSFERS = (16, 18)
_P3_TO_SRGB = np.array(
    [[1.2249402, -0.2249402, 0.0], [-0.0420569, 1.0420569, 0.0], [-0.0196376, -0.0786361, 1.0982735]], np.float32
)


def as_coded(strip: Image.Image) -> Image.Image:
    """Take the numbers as sRGB, as every viewer does with a photo that carries no profile."""
    return strip.convert("RGB")


def conversion(profile_bytes: bytes | None, mode: str) -> tuple[Conversion, Outcome]:
    """Return the conversion for an embedded profile, and what came of the profile.

    Relative colorimetric with black point compensation. A profile that is broken or belongs to another kind of
    picture is left out (``unusable``): it must not cost the photo.
    """
    if not profile_bytes:
        return as_coded, "none"
    try:
        profile = ImageCms.ImageCmsProfile(io.BytesIO(profile_bytes))
        source = {"RGB": "RGB", "GRAY": "L", "CMYK": "CMYK"}[profile.profile.xcolor_space.strip()]
        grey = mode in _GREY_MODES or mode.startswith("I;16")
        if (source == "CMYK") != (mode == "CMYK") or (source == "L" and not grey):
            return as_coded, "unusable"
        transform = ImageCms.buildTransform(
            profile,
            ImageCms.createProfile("sRGB"),
            source,
            "RGB",
            ImageCms.Intent.RELATIVE_COLORIMETRIC,
            ImageCms.Flags.BLACKPOINTCOMPENSATION,
        )
        if source == "RGB" and _changes_nothing(transform):
            return as_coded, "srgb"
    except Exception:  # the colour engine's wrapper raises KeyError, OSError, PyCMSError, ...
        return as_coded, "unusable"

    def convert(strip: Image.Image) -> Image.Image:
        return ImageCms.applyTransform(strip if strip.mode == source else strip.convert(source), transform)

    return convert, "converted"


def _changes_nothing(transform: ImageCms.ImageCmsTransform) -> bool:
    levels = np.linspace(0, 255, 9).astype(np.uint8)
    probe = np.stack(np.meshgrid(levels, levels, levels), axis=-1).reshape(27, 27, 3)
    seen = np.asarray(ImageCms.applyTransform(Image.fromarray(probe), transform))
    return int(np.abs(seen.astype(int) - probe).max()) <= 1


def numbered_conversion(nclx: dict | None) -> tuple[Conversion, Outcome]:
    """Return the conversion for a HEIF that names its colours by number (its ``nclx`` box) instead of a profile."""
    if not nclx:
        return as_coded, "none"
    if nclx.get("transfer_characteristics") in _HDR_TRANSFERS:
        return as_coded, "high dynamic range"
    return (_p3_to_srgb, "converted") if nclx.get("color_primaries") == _P3_PRIMARIES else (as_coded, "none")


def _p3_to_srgb(strip: Image.Image) -> Image.Image:
    light = np.clip(LINEAR_OF_BYTE[np.asarray(strip.convert("RGB"))] @ _P3_TO_SRGB.T, 0, 1)
    return Image.fromarray((coded(light) * 255 + 0.5).astype(np.uint8))

"""Bytes of a photo to an upright sRGB array: the only place that meets hostile files.

Formats are allowed by name, the header's size is checked before any pixel is decoded, and whatever a decoder raises
becomes a refusal. Time and memory are bounded from outside (:mod:`condition.flow.pool`).
"""

from __future__ import annotations

import io
import re
import struct
import threading
import warnings
from dataclasses import dataclass

import numpy as np
from PIL import Image

from condition.errors import Refused
from condition.imaging import exif
from condition.imaging.profile import Conversion, Outcome, conversion, numbered_conversion
from condition.imaging.signature import kind_of

PIXEL_LIMIT = 120_000_000
"""Largest picture taken in: the full frame of a 108 MP phone. Decoding one peaks at 7 bytes a pixel (four of the
decoder's, three of ours), 10 for a progressive JPEG, whose coefficients wait in memory: 0.9 and 1.2 GB beside the
libraries (measured), which the workers' limit allows (:data:`condition.flow.pool.MEMORY_BYTES`)."""

STRIP_ROWS = 256

_OPENING = threading.Lock()
_SHORT = re.compile(
    r"truncat|end of file|eof|insufficient input|too small|not enough|short read|incomplete|bytes not processed",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True, eq=False)
class Decoded:
    """A decoded photo.

    rgb : uint8, shape (height, width, 3), upright, sRGB
    format : ``JPEG``, ``MPO``, ``PNG``, ``TIFF``, ``WEBP`` or ``HEIF``
    header : what the file says about how it was taken
    pictures : how many pictures (pages, frames) the file holds; the first, or a HEIF's main one, was decoded
    profile : what came of the embedded colour profile
    """

    rgb: np.ndarray
    width: int
    height: int
    format: str
    header: exif.Header
    pictures: int = 1
    profile: Outcome = "none"


def decode(data: bytes, *, name: str, pixel_limit: int = PIXEL_LIMIT) -> Decoded:
    """Decode a photo: JPEG (also with several pictures), PNG, HEIF, TIFF or WebP.

    Orientation is applied exactly once (from Exif; a HEIF turns itself), an embedded colour profile is converted to
    sRGB, transparency is laid on white, 16 bits become 8.

    Parameters
    ----------
    data : the whole file
    name : file name, for the refusal's sentence
    pixel_limit : width times height, checked against the header before decoding

    Raises
    ------
    Refused
        ``photo.empty``, ``photo.not_a_photo``, ``photo.raw``, ``photo.too_large``, ``photo.too_slow``,
        ``photo.truncated``, ``photo.damaged``, ``photo.depth`` or ``photo.no_memory``, each with ``file``.
    """
    kind = kind_of(data, name)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            if kind == "HEIF":
                return _decode_heif(data, name, pixel_limit)
            return _decode_pillow(data, kind, name, pixel_limit)
    except Refused:
        raise
    except MemoryError as error:
        raise Refused("photo.no_memory", file=name) from error
    except Exception as error:  # decoders raise far more than OSError
        short = isinstance(error, (EOFError, struct.error)) or _SHORT.search(str(error))
        raise Refused("photo.truncated" if short else "photo.damaged", file=name) from error


def _check_size(width: int, height: int, pixel_limit: int, name: str) -> None:
    if width < 1 or height < 1:
        raise Refused("photo.damaged", file=name)
    if width * height > pixel_limit:
        raise Refused(
            "photo.too_large",
            file=name,
            width=width,
            height=height,
            megapixels=round(width * height / 1e6),
            limit=pixel_limit // 1_000_000,
        )


def _open(data: bytes, kind: str) -> Image.Image:
    """Open as the one format its first bytes say (PostScript would be handed to an interpreter), without the
    library's own size limit, which refuses without telling the size: ours is checked next."""
    with _OPENING:
        held, Image.MAX_IMAGE_PIXELS = Image.MAX_IMAGE_PIXELS, None
        try:
            return Image.open(io.BytesIO(data), formats=[kind])
        finally:
            Image.MAX_IMAGE_PIXELS = held


def _decode_pillow(data: bytes, kind: str, name: str, pixel_limit: int) -> Decoded:
    picture = _open(data, kind)
    _check_size(*picture.size, pixel_limit, name)
    if kind == "TIFF" and _is_raw(picture, data):
        raise Refused("photo.raw", file=name)
    if picture.mode in ("I", "F", "LAB", "HSV"):
        raise Refused("photo.depth", file=name)
    to_srgb, profile = conversion(picture.info.get("icc_profile"), picture.mode)
    pictures = _picture_count(picture)
    picture.load()
    header = exif.read(picture.info.get("exif") or data)
    orientation = 1 if kind == "TIFF" else header.orientation or 1  # the TIFF loader turns by itself
    rgb = _upright(picture, orientation, to_srgb)
    return Decoded(rgb, rgb.shape[1], rgb.shape[0], picture.format, header, pictures, profile)


def _is_raw(picture: Image.Image, data: bytes) -> bool:
    """A camera's raw file is a TIFF whose first picture is only a preview (NewSubfileType bit 0, or a DNGVersion)."""
    tags = picture.tag_v2
    return bool(0xC612 in tags or data[8:10] == b"CR" or int(tags.get(0x00FE, 0) or 0) & 1)


def _picture_count(picture: Image.Image) -> int:
    """Pictures a person would miss: pages and frames; a camera's second picture in one JPEG is a preview."""
    if picture.format in ("JPEG", "MPO"):
        return 1
    try:
        count = int(getattr(picture, "n_frames", 1))
    except Exception:  # a broken later page does not spoil the first
        count = 1
    picture.seek(0)
    return count


def _upright(picture: Image.Image, orientation: int, to_srgb: Conversion) -> np.ndarray:
    """Fill one upright array strip by strip, through a view of it that runs as the file stores it."""
    width, height = picture.size
    rgb = np.empty((width, height, 3) if orientation >= 5 else (height, width, 3), np.uint8)
    stored = as_stored(rgb, orientation)
    for top in range(0, height, STRIP_ROWS):
        bottom = min(top + STRIP_ROWS, height)
        stored[top:bottom] = _strip(picture.crop((0, top, width, bottom)), to_srgb)
    return rgb


def as_stored(upright: np.ndarray, orientation: int) -> np.ndarray:
    """Return the view of an upright array (H, W[, C]) that runs as a file of this Exif Orientation stores it.

    Source: Exif 2.32, 4.6.4, tag 0x0112.
    """
    view = upright.swapaxes(0, 1) if orientation >= 5 else upright
    if orientation in (3, 4, 6, 7):
        view = view[::-1]
    return view[:, ::-1] if orientation in (2, 3, 7, 8) else view


def _strip(strip: Image.Image, to_srgb: Conversion) -> np.ndarray:
    """Return a strip of any mode as sRGB uint8 of shape (h, w, 3)."""
    if strip.mode.startswith("I;16"):
        wide = np.asarray(strip).astype(np.uint32)
        strip = Image.fromarray(((wide * 255 + 32767) // 65535).astype(np.uint8))
    elif strip.mode in ("RGBA", "LA", "PA", "RGBa", "La") or "transparency" in strip.info:
        if strip.mode == "La":
            strip = strip.convert("LA")
        strip = strip.convert("RGBA")
        alpha = np.asarray(strip)[..., 3:].astype(np.uint16)
        flat = np.asarray(to_srgb(strip.convert("RGB"))).astype(np.uint16)
        return ((flat * alpha + 255 * (255 - alpha) + 127) // 255).astype(np.uint8)
    return np.asarray(to_srgb(strip))


def _decode_heif(data: bytes, name: str, pixel_limit: int) -> Decoded:
    import pillow_heif

    container = pillow_heif.open_heif(data, convert_hdr_to_8bit=True)
    main = container[container.primary_index]
    _check_size(*main.size, pixel_limit, name)
    header = exif.read(main.info["exif"]) if main.info.get("exif") else exif.Header()
    picture = main.to_pillow()
    to_srgb, profile = conversion(main.info.get("icc_profile"), picture.mode)
    if profile in ("none", "unusable"):
        to_srgb, profile = numbered_conversion(main.info.get("nclx_profile"))
    rgb = _upright(picture, 1, to_srgb)
    return Decoded(rgb, rgb.shape[1], rgb.shape[0], "HEIF", header, len(container), profile)

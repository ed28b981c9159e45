"""Is this photo fit for the job? Read and judged in one pass, in a worker (:mod:`condition.flow.pool`)."""

from __future__ import annotations

import hashlib
import stat
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from condition.errors import Refused
from condition.records.photo import AdviceLine
from condition.records.plane import SizeCard

METHOD = "1"
"""Version of what the cache holds; a new one makes tiles and thumbnails again."""

FILE_LIMIT_BYTES = 400_000_000
"""A 16-bit uncompressed TIFF of 60 MP is 360 MB."""

BLURRED_EFFICIENCY = 0.4
"""Below this part of its pixels' resolution a photo is called blurred: edges wider than 4.4 px. Sharp phone and camera
photos measured 0.64 to 1.0, a picture with most of the instrument out of focus 0.31."""
ENOUGH_PX = 2400
"""A large photo may be soft in its pixels and still show as much as a sharp one this long."""
MOVED_RATIO = 2.0
BLOWN_SHARE = 0.05
DARK_SHARE = 0.5
GLARE_SHARE = 0.0005
SMALL_PX = 1600
TILT_DEGREES = 25.0

_MEDIA_TYPES = {
    "JPEG": "image/jpeg",
    "MPO": "image/jpeg",
    "PNG": "image/png",
    "TIFF": "image/tiff",
    "WEBP": "image/webp",
    "HEIF": "image/heic",
}


@dataclass(frozen=True, slots=True)
class Inspection:
    """An accepted photo, as read and judged.

    width, height : upright, in pixels
    taken, offset : local time of the camera and its zone, None when the photo does not say
    edge_px, moved_ratio : 10 to 90 % width of an edge where it is most blurred, and how much more than where least
    efficiency : 0..1, the part of the pixels' resolution the picture holds
    blown, dark, glare : shares 0..1 of the picture
    cards : every size card seen, those not to be used marked ``left_out``
    tilt_degrees : of the camera to the cards' plane, None without usable cards
    advice : catalogue codes with their values, in the order to tell them
    """

    sha256: str
    format: str
    media_type: str
    width: int
    height: int
    taken: str | None = None
    offset: str | None = None
    focal_35mm: float | None = None
    camera: str = ""
    lens: str = ""
    has_location: bool = False
    edge_px: float | None = None
    moved_ratio: float | None = None
    efficiency: float | None = None
    blown: float = 0.0
    dark: float = 0.0
    glare: float = 0.0
    cards: tuple[SizeCard, ...] = ()
    tilt_degrees: float | None = None
    advice: tuple[AdviceLine, ...] = ()

    @property
    def card_ids(self) -> tuple[int, ...]:
        """Ids of the cards that can be used."""
        return tuple(card.id for card in self.cards if not card.left_out)


def inspect_file(path: str, name: str) -> Inspection:
    """Read and judge a photo without keeping anything.

    Raises
    ------
    Refused
        ``photo.*``: the file is not there, not a photo, broken, or too large; see
        :func:`condition.imaging.decode.decode`.
    """
    return _inspect(path, name, None)


def prepare(path: str, name: str, cache_folder: str) -> Inspection:
    """Read and judge a photo, and write its tiles and thumbnail under the cache in the same pass.

    Raises
    ------
    Refused
        As :func:`inspect_file`.
    """
    return _inspect(path, name, Path(cache_folder))


def picture_folder(cache_folder: str | Path, sha256: str) -> Path:
    """Return where a photo's ``meta.json``, ``thumb.jpg`` and tiles ``{level}/{col}_{row}.jpg`` stand."""
    return Path(cache_folder) / sha256 / METHOD


def thumbnail(cache_folder: str | Path, sha256: str) -> Path | None:
    """Return the file of a photo's thumbnail, None when the cache has none (make it again with :func:`prepare`)."""
    path = picture_folder(cache_folder, sha256) / "thumb.jpg"
    return path if path.is_file() else None


def _inspect(path: str, name: str, cache: Path | None) -> Inspection:
    from condition.imaging import exposure, sharpness
    from condition.imaging.decode import decode
    from condition.imaging.markers import find_cards
    from condition.imaging.tiles import write_pyramid

    data = read_file(path, name)
    sha256 = hashlib.sha256(data).hexdigest()
    photo = decode(data, name=name)
    del data
    sharp, exposed = sharpness.measure(photo.rgb), exposure.measure(photo.rgb)
    cards = find_cards(photo.rgb)
    tilt = _tilt(cards, photo.width, photo.height, photo.header.focal_35mm)
    if cache is not None and not (folder := picture_folder(cache, sha256)).is_dir():
        write_pyramid(photo.rgb, folder)
    header = photo.header
    return Inspection(
        sha256=sha256,
        format=photo.format,
        media_type=_MEDIA_TYPES[photo.format],
        width=photo.width,
        height=photo.height,
        taken=header.taken,
        offset=header.offset,
        focal_35mm=header.focal_35mm,
        camera=_camera(header.make, header.model),
        lens=header.lens or "",
        has_location=header.has_location,
        edge_px=sharp.edge_px,
        moved_ratio=sharp.across_px / sharp.along_px if sharp.across_px and sharp.along_px else None,
        efficiency=sharp.efficiency,
        blown=exposed.blown,
        dark=exposed.dark,
        glare=exposed.glare,
        cards=cards,
        tilt_degrees=tilt,
        advice=tuple(_advice(photo, sharp, exposed, cards, tilt)),
    )


def read_file(path: str, name: str) -> bytes:
    """Return a file's bytes.

    Raises
    ------
    Refused
        ``photo.not_found``, ``photo.not_readable``, ``photo.not_a_file``, ``photo.file_too_large``
    """
    try:
        about = Path(path).stat()
        if not stat.S_ISREG(about.st_mode):
            raise Refused("photo.not_a_file", file=name)
        if about.st_size > FILE_LIMIT_BYTES:
            raise Refused("photo.file_too_large", file=name, limit=FILE_LIMIT_BYTES // 1_000_000)
        return Path(path).read_bytes()
    except (FileNotFoundError, NotADirectoryError) as error:
        raise Refused("photo.not_found", file=name) from error
    except (OSError, ValueError) as error:
        raise Refused("photo.not_readable", file=name) from error


def _camera(make: str | None, model: str | None) -> str:
    if make and model and not model.lower().startswith(make.split()[0].lower()):
        return f"{make} {model}"
    return model or make or ""


def _tilt(cards: tuple[SizeCard, ...], width: int, height: int, focal_35mm: float | None) -> float | None:
    from condition.imaging.plane_from_cards import plane_from_cards

    try:
        return plane_from_cards(cards, width, height, focal_35mm).tilt_degrees
    except Refused:
        return None


def _line(code: str, **values: object) -> AdviceLine:
    return (code, tuple((name, str(value)) for name, value in values.items()))


def _advice(photo, sharp, exposed, cards, tilt):
    """Yield what to tell about the photo, what matters most first."""
    long_side = max(photo.width, photo.height)
    if sharp.efficiency is not None:
        blurred = sharp.efficiency < BLURRED_EFFICIENCY and sharp.efficiency * long_side < ENOUGH_PX
        width = f"{sharp.edge_px:.0f}"
        if blurred and sharp.across_px > MOVED_RATIO * sharp.along_px:
            yield _line("photo.moved", px=width)
        elif blurred:
            yield _line("photo.blurred", px=width)
    else:
        blurred = False
        yield _line("photo.no_edges")
    if long_side < SMALL_PX:
        yield _line("photo.small", width=photo.width, height=photo.height)
    if exposed.glare > GLARE_SHARE and not blurred:
        yield _line("photo.glare", spots=len(exposed.spots)) if len(exposed.spots) > 1 else _line("photo.one_glare")
    elif exposed.blown > BLOWN_SHARE:
        yield _line("photo.blown", percent=f"{100 * exposed.blown:.0f}")
    if exposed.dark > DARK_SHARE:
        yield _line("photo.dark", percent=f"{100 * exposed.dark:.0f}")
    yield _cards_line(cards)
    if tilt is not None and tilt > TILT_DEGREES:
        yield _line("photo.tilted", degrees=f"{tilt:.0f}")
    yield from _header_advice(photo)


def _cards_line(cards: tuple[SizeCard, ...]) -> AdviceLine:
    usable = [str(card.id) for card in cards if not card.left_out]
    if len(usable) > 1:
        return _line("photo.cards", count=len(usable), ids=", ".join(usable))
    if usable:
        return _line("photo.one_card", id=usable[0])
    if cards:
        return _line("photo.cards_unusable", ids=", ".join(str(card.id) for card in cards))
    return _line("photo.no_card")


def _header_advice(photo):
    header = photo.header
    if header.taken is None:
        yield _line("photo.no_date")
    elif datetime.fromisoformat(header.taken) > datetime.now() + timedelta(days=1):
        yield _line("photo.future", taken=header.taken)
    if header.focal_35mm is None:
        yield _line("photo.no_focal")
    if header.has_location:
        yield _line("photo.has_location")
    if photo.pictures > 1:
        yield _line("photo.first_of", pictures=photo.pictures)
    if photo.profile == "unusable":
        yield _line("photo.profile_unusable")
    elif photo.profile == "high dynamic range":
        yield _line("photo.high_dynamic_range")

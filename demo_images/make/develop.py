"""Develops a linear EXR into a camera's JPEG: lens, noise, tone curve, EXIF.

Usage: develop.py SHOT IN.exr OUT.jpg [SCALE_PERCENT]. SCALE_PERCENT is that of the render (drafts).
"""

import io
import os
import sys
from dataclasses import replace
from pathlib import Path

os.environ["OPENCV_IO_ENABLE_OPENEXR"] = "1"

import cv2
import numpy as np
import piexif
from paint import srgb
from PIL import Image
from shots import OVERSCAN, SHOTS, Shot

MAKE, MODEL, LENS = "Ostrelle", "Ostrelle Vey 12", "Vey 35mm f/2.4"
QUALITY = 91
Array = np.ndarray


def through_lens(s: Shot, render: Array) -> Array:
    """The render as the lens of `s` shows it, at the photo's size (H x W x 3, linear)."""
    width, height = s.size
    centre = np.array([width, height]) / 2
    half = float(np.hypot(*centre))
    x = np.arange(width) + 0.5 - centre[0]
    y = np.arange(height) + 0.5 - centre[1]
    rd2 = (x[None, :] ** 2 + y[:, None] ** 2) / half**2
    rd = np.sqrt(rd2)
    ru = rd.copy()
    for _ in range(6):
        ru -= (ru * (1 + s.k1 * ru**2) - rd) / (1 + 3 * s.k1 * ru**2)
    scale = np.where(rd > 1e-9, ru / np.maximum(rd, 1e-9), 1.0)
    grow = render.shape[1] / (width * OVERSCAN)
    mx = (x[None, :] * scale * grow + render.shape[1] / 2 - 0.5).astype(np.float32)
    my = (y[:, None] * scale * grow + render.shape[0] / 2 - 0.5).astype(np.float32)
    out = cv2.remap(render, mx, my, cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE)
    return np.clip(out, 0, None) * (1 - 0.16 * rd2[..., None] ** 1.1).astype(np.float32)


def card_white(s: Shot, picture: Array) -> Array:
    """Mean colour of the cards' white margins: what a photographer would set exposure and white by."""
    samples = []
    for c in s.cards:
        a = np.radians(c.turn)
        for x, y in ((-24, 0), (24, 0), (0, 24), (0, -24)):
            px = s.project(
                np.array(
                    [
                        s.plane.at(
                            c.x + x * np.cos(a) - y * np.sin(a), c.y + x * np.sin(a) + y * np.cos(a), s.card_height
                        )
                    ]
                )
            )[0]
            i, j = int(px[1]), int(px[0])
            if 4 < i < picture.shape[0] - 4 and 4 < j < picture.shape[1] - 4:
                samples.append(picture[i - 2 : i + 3, j - 2 : j + 3].reshape(-1, 3).mean(0))
    return np.median(samples, axis=0)


def sensor(s: Shot, linear: Array) -> Array:
    rng = np.random.default_rng(900 + s.seed)
    glow = cv2.GaussianBlur(cv2.resize(linear, None, fx=0.125, fy=0.125, interpolation=cv2.INTER_AREA), (0, 0), 14)
    linear = linear * 0.985 + 0.015 * cv2.resize(glow, linear.shape[1::-1])
    linear = cv2.GaussianBlur(linear, (0, 0), 0.5)
    gain = s.iso / 200
    sigma = np.sqrt(1.1e-4 * gain * np.clip(linear, 0, 1) + 1.2e-6 * gain**2)
    noise = rng.standard_normal(linear.shape).astype(np.float32)
    noise = cv2.GaussianBlur(noise, (0, 0), 0.6)
    return linear + sigma * noise / noise.std()


def tone(linear: Array) -> Array:
    """Straight up to 0.72, then a soft shoulder; sRGB coded 0..1."""
    knee = 0.72
    high = knee + (1 - knee) * (1 - np.exp(-(np.maximum(linear, knee) - knee) / (1 - knee)))
    coded = srgb(np.where(linear > knee, high, linear)).astype(np.float32)
    light = coded @ np.array([0.30, 0.59, 0.11], np.float32)
    crisp = light - cv2.GaussianBlur(light, (0, 0), 1.1)
    return coded + 0.28 * crisp[..., None]


def rational(value: float, base: int = 100) -> tuple[int, int]:
    return round(value * base), base


def exif(s: Shot, thumbnail: bytes) -> bytes:
    top, bottom = s.exposure_s.split("/")
    zeroth = {
        piexif.ImageIFD.Make: MAKE,
        piexif.ImageIFD.Model: MODEL,
        piexif.ImageIFD.Orientation: s.orientation,
        piexif.ImageIFD.XResolution: (72, 1),
        piexif.ImageIFD.YResolution: (72, 1),
        piexif.ImageIFD.ResolutionUnit: 2,
        piexif.ImageIFD.DateTime: s.taken,
    }
    detail = {
        piexif.ExifIFD.ExposureTime: (int(top), int(bottom)),
        piexif.ExifIFD.FNumber: rational(s.f_number, 10),
        piexif.ExifIFD.ISOSpeedRatings: s.iso,
        piexif.ExifIFD.ExifVersion: b"0231",
        piexif.ExifIFD.DateTimeOriginal: s.taken,
        piexif.ExifIFD.DateTimeDigitized: s.taken,
        piexif.ExifIFD.OffsetTime: "+01:00",
        piexif.ExifIFD.OffsetTimeOriginal: "+01:00",
        piexif.ExifIFD.FocalLength: rational(s.focal_mm, 10),
        piexif.ExifIFD.FocalLengthIn35mmFilm: round(s.focal_35),
        piexif.ExifIFD.LensModel: LENS,
        piexif.ExifIFD.ColorSpace: 1,
        piexif.ExifIFD.WhiteBalance: 1,
        piexif.ExifIFD.Flash: 0,
        piexif.ExifIFD.PixelXDimension: max(s.size),
        piexif.ExifIFD.PixelYDimension: min(s.size),
    }
    place = {}
    if s.gps:
        lat, lon = s.gps

        def parts(v: float) -> tuple[tuple[int, int], ...]:
            v = abs(v)
            return (int(v), 1), (int(v * 60 % 60), 1), (round(v * 3600 % 60 * 100), 100)

        place = {
            piexif.GPSIFD.GPSVersionID: (2, 3, 0, 0),
            piexif.GPSIFD.GPSLatitudeRef: "N" if lat > 0 else "S",
            piexif.GPSIFD.GPSLatitude: parts(lat),
            piexif.GPSIFD.GPSLongitudeRef: "E" if lon > 0 else "W",
            piexif.GPSIFD.GPSLongitude: parts(lon),
        }
    return piexif.dump(
        {"0th": zeroth, "Exif": detail, "GPS": place, "1st": {piexif.ImageIFD.Compression: 6}, "thumbnail": thumbnail}
    )


def stored(s: Shot, upright: Array) -> Array:
    turns = {1: 0, 6: 1, 8: 3, 3: 2}[s.orientation]
    return np.ascontiguousarray(np.rot90(upright, turns))


def scaled(s: Shot, percent: float) -> Shot:
    if percent == 100:
        return s
    width, height = s.size
    return replace(s, size=(round(width * percent / 100), round(height * percent / 100)))


def main() -> None:
    name, source, target = sys.argv[1:4]
    percent = float(sys.argv[4]) if len(sys.argv) > 4 else 100.0
    full = SHOTS[name]
    s = scaled(full, percent)
    render = cv2.imread(source, cv2.IMREAD_UNCHANGED)[..., ::-1].astype(np.float32)
    picture = through_lens(s, np.ascontiguousarray(render))
    white = card_white(s, picture)
    picture *= (s.level * np.array(s.white) / white).astype(np.float32)
    coded = tone(sensor(s, picture))
    upright = np.clip(coded * 255 + 0.5, 0, 255).astype(np.uint8)
    shown = Image.fromarray(stored(s, upright))
    small = io.BytesIO()
    thumb = shown.copy()
    thumb.thumbnail((320, 240))
    thumb.save(small, "JPEG", quality=80)
    shown.save(target, "JPEG", quality=QUALITY, subsampling=2, optimize=True, exif=exif(s, small.getvalue()))
    print(f"{target}: {Path(target).stat().st_size / 1e6:.2f} MB, white {white}")


if __name__ == "__main__":
    main()

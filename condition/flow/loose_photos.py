"""Photos that are not (yet) in the store, decoded in a worker: a strange file can neither hang nor fell a command."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from condition.flow.inspection import read_file
from condition.flow.pool import shared


@dataclass(frozen=True, slots=True, eq=False)
class ReadPhoto:
    """rgb : upright sRGB, uint8 (height, width, 3); focal_35mm : 35 mm equivalent, None when the file has none"""

    rgb: np.ndarray
    focal_35mm: float | None

    @property
    def width(self) -> int:
        return self.rgb.shape[1]

    @property
    def height(self) -> int:
        return self.rgb.shape[0]


def read_photo(path: str) -> ReadPhoto:
    """Read a photo, upright. Its pixels cross from the worker in a file that is gone afterwards.

    Raises
    ------
    Refused
        ``photo.*``: the file is not there, no photo, broken, too large, or takes too long; see
        :func:`condition.imaging.decode.decode` and :meth:`condition.flow.pool.Pool.submit`.
    """
    with TemporaryDirectory() as folder:
        pixels = Path(folder) / "pixels.npy"
        focal_35mm = shared().submit(decode_into, path, Path(path).name, str(pixels)).result()
        return ReadPhoto(np.load(pixels), focal_35mm)


def decode_into(path: str, name: str, pixels: str) -> float | None:
    """Decode a photo into a NumPy file and return its 35 mm equivalent focal length; the worker's side."""
    from condition.imaging.decode import decode

    decoded = decode(read_file(path, name), name=name)
    np.save(pixels, decoded.rgb, allow_pickle=False)
    return decoded.header.focal_35mm

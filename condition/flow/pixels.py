"""A stored photo's pixels, for what is read off its edges: the last few are kept."""

from __future__ import annotations

import threading
from collections import OrderedDict

import numpy as np

from condition.flow.desk import Desk
from condition.imaging.decode import decode
from condition.records.photo import Photo

KEPT_BYTES = 600_000_000
"""About two 100 MP photos or sixteen of 12 MP, decoded."""

_kept: OrderedDict[str, np.ndarray] = OrderedDict()
_lock = threading.Lock()


def pixels_of(desk: Desk, photo: Photo) -> np.ndarray:
    """Return the upright photo as uint8 sRGB, shape (height, width, 3), read-only.

    Only for photos the store accepted: their bytes went through a worker once.
    """
    with _lock:
        if photo.sha256 in _kept:
            _kept.move_to_end(photo.sha256)
            return _kept[photo.sha256]
        rgb = decode(desk.store.vault.path(photo.sha256).read_bytes(), name=photo.file_name).rgb
        rgb.setflags(write=False)
        _kept[photo.sha256] = rgb
        while len(_kept) > 1 and sum(kept.nbytes for kept in _kept.values()) > KEPT_BYTES:
            _kept.popitem(last=False)
        return rgb

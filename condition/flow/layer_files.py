"""What a worker does to lay one photo over another: a file in, tiles out."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from condition.flow.placing import OnFace, to_base_px, to_photo_px


def write_layer(path: str, name: str, shown: OnFace | tuple[int, int], layer: OnFace | None, folder: str) -> None:
    """Write the tiles of a photo as it lies over the shown one.

    Parameters
    ----------
    shown : how the shown photo lies on the face's base photo, or, when it is the base photo, its width and height
    layer : how the photo of the file lies on the base photo; None when it is the base photo
    folder : made by this call
    """
    from condition.imaging.decode import decode
    from condition.imaging.laid import laid_under
    from condition.imaging.tiles import write_pyramid

    def way(points: np.ndarray) -> np.ndarray:
        return layer_px(points, shown if isinstance(shown, OnFace) else None, layer)

    width, height = (shown.photo.width, shown.photo.height) if isinstance(shown, OnFace) else shown
    rgb = decode(Path(path).read_bytes(), name=name).rgb
    write_pyramid(laid_under(rgb, way, width, height), Path(folder))


def layer_px(points_px: np.ndarray, shown: OnFace | None, layer: OnFace | None) -> np.ndarray:
    """Return where pixels (N, 2) of the shown photo lie in the layer's, by way of the base photo (None is the base)."""
    on_base = to_base_px(shown, points_px) if shown else points_px
    return to_photo_px(layer, on_base) if layer else on_base

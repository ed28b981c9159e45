"""How much of an outline has an edge of the photo under it.

Where nothing shows, an outline is no plainer than the lines beside it: colours are averaged along every stretch, and
the step across the rim is held against the steps across parallels to it, inside and outside. Figure of the wood that
happens to run along the rim may pass for an edge: of a hidden stretch four fifths and more are told.
"""

from __future__ import annotations

import cv2
import numpy as np

from condition.imaging.colour_regions import weighted_lab
from condition.imaging.edge_snap import colours_at, smoothed_round
from condition.imaging.lightness import lab_of
from condition.imaging.polyline import every
from condition.imaging.working_window import window_of
from condition.records.shapes import Ring

STRETCH_SHARE = 0.012
"""Standard deviation of the average along the rim, over its length: longer than grain, shorter than a corner."""
STEP_REACH_PX = 1.5
"""A step is taken from so far inside a line to so far outside it, px at working scale (as all lengths here)."""
AT_RIM_PX = 2.0
BESIDE_PX = (4.0, 10.5)
SPACING_PX = 0.5
TIMES_BESIDE = 1.4
"""An edge's step is this many times the usual one on the side that has the larger. On the drawn and the rendered scenes
an edge in plain sight has 2 and more, between a head's fittings mostly 1.5 and more, an outline through a fade up to
1.3."""
LEAST_STEP = 3.0
"""Weighted Lab: fainter is no edge to lean on even where all beside it is plain."""


def loose_share(rgb: np.ndarray, ring: Ring) -> float:
    """Return the share, 0 to 1, of an outline's length that has no edge under it.

    Parameters
    ----------
    rgb : uint8, shape (H, W, 3), the upright photo
    ring : in its pixels; its holes are not looked at
    """
    window = window_of(rgb, 0, 0, rgb.shape[1], rgb.shape[0])
    lab = cv2.GaussianBlur(weighted_lab(lab_of(window.rgb)), (0, 0), 0.8)
    corners = np.array((*ring.points, ring.points[0])) / window.scale
    rim = every(corners, 1.0)[:-1]
    ahead = np.roll(rim, -3, axis=0) - np.roll(rim, 3, axis=0)
    ahead /= np.maximum(np.hypot(*ahead.T), 1e-9)[:, None]
    across = np.stack([ahead[:, 1], -ahead[:, 0]], axis=1)
    reach = BESIDE_PX[1] + STEP_REACH_PX
    offsets = np.linspace(-reach, reach, round(2 * reach / SPACING_PX) + 1)
    colours = colours_at(lab, rim[:, None] + across[:, None] * offsets[:, None])
    colours = smoothed_round(colours, max(2.0, STRETCH_SHARE * len(rim)))
    apart = round(2 * STEP_REACH_PX / SPACING_PX)
    steps = np.linalg.norm(colours[:, apart:] - colours[:, :-apart], axis=2)
    away = offsets[apart // 2 : -(apart // 2)]
    at_rim = steps[:, np.abs(away) <= AT_RIM_PX].max(axis=1)
    sides = (away <= -BESIDE_PX[0], away >= BESIDE_PX[0])
    beside = np.max([np.median(steps[:, side], axis=1) for side in sides], axis=0)
    return float(np.mean((at_rim < LEAST_STEP) | (at_rim < TIMES_BESIDE * beside)))

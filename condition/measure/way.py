"""How a mark was made, and what its points are worth."""

from __future__ import annotations

from dataclasses import dataclass

HAND_ON_SCREEN_PX = 1.5
"""Standard uncertainty of a click on the screen, in screen pixels (common practice)."""
HAND_LEAST_PX = 0.5
"""However far one zooms in, the eye places a point on a blurred edge to about half a photo pixel."""


@dataclass(frozen=True, slots=True)
class Way:
    """making : as in the mark's ``how``; pick_sd_px : standard uncertainty of one point, per axis; edge_sd_px : of
    where an edge drawn that way lies as a whole"""

    making: str
    pick_sd_px: float
    edge_sd_px: float


BY_HAND = Way("hand", 1.0, 0.5)
WAYS: dict[str, Way] = {
    "hand": BY_HAND,
    "freehand": Way("freehand", 1.5, 0.7),
    "imported": Way("imported", 1.0, 0.5),
    "traced": Way("traced", 1.0, 0.5),
    "fitted": Way("fitted", 0.2, 0.15),
    "grown": Way("grown", 0.7, 0.5),
}


def way_of(how: str, pick_sd_px: float | None = None) -> Way:
    """The way a mark was made, with the pick's own standard uncertainty where the canvas knows it."""
    way = WAYS.get(how, BY_HAND)
    return way if pick_sd_px is None else Way(way.making, pick_sd_px, max(way.edge_sd_px, 0.5 * pick_sd_px))


def by_hand(zoom: float) -> Way:
    """Clicked by hand at `zoom` screen pixels for one photo pixel."""
    return way_of("hand", (HAND_LEAST_PX**2 + (HAND_ON_SCREEN_PX / max(zoom, 0.05)) ** 2) ** 0.5)

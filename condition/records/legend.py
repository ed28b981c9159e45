"""One legend for canvas, condition map and PDF: every kind of finding, its hatch, line and symbol.

Told apart without colour: kinds differ in symbol, and areas also in hatch angle or spacing, lines in dash
(common practice for condition maps; NORMAL 1/88 and UNI 11182:2006 as models, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Symbol = Literal[
    "zigzag", "ring", "ring-dot", "disc", "slot", "wave", "bars", "patch", "net", "veil", "dent",
    "chip", "drop", "rust", "seam", "lift", "bow", "break", "mend", "gap", "bolt", "diamond", "axis", "contour",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Sign:
    """How one kind is drawn. Hatch: (angle in degrees, spacing in mm on paper) per family of lines; dash: on/off
    lengths in stroke widths (empty: solid)."""

    symbol: Symbol
    colour: str
    hatch: tuple[tuple[float, float], ...] = ()
    dash: tuple[float, ...] = ()


PAPER = "#FAFAF7"
PANEL = "#EEF0EC"
INK = "#1D2628"
MUTED = "#5C686A"
RULE = "#C9CFCB"
ACCENT = "#1F5C57"
ACCENT_SOFT = "#DCE8E4"
WARN = "#9A4A12"
ALERT = "#8E2C2C"

_OXIDE, _BLUE, _MOSS, _OCHRE, _PLUM, _SLATE = "#A23B2A", "#1F5F8B", "#4C6B22", "#9A6A00", "#7A3E73", "#40525A"

KINDS: dict[str, Sign] = {
    "crack": Sign("zigzag", _OXIDE),
    "screw hole": Sign("ring", _BLUE),
    "enlarged hole": Sign("ring-dot", _BLUE, dash=(4, 2)),
    "filled hole": Sign("disc", _SLATE),
    "added rout": Sign("slot", _BLUE, hatch=((0, 2.0), (90, 2.0))),
    "wear groove": Sign("wave", _OCHRE, hatch=((0, 1.2),), dash=(6, 2)),
    "worn fret": Sign("bars", _OCHRE, dash=(2, 2)),
    "finish loss": Sign("patch", _OXIDE, hatch=((45, 1.6),)),
    "finish checking": Sign("net", _PLUM, hatch=((60, 2.4), (120, 2.4))),
    "refinish": Sign("veil", _MOSS, hatch=((90, 3.0),)),
    "dent": Sign("dent", _SLATE, hatch=((135, 2.6),)),
    "chip": Sign("chip", _OXIDE, hatch=((135, 1.2),)),
    "stain": Sign("drop", _MOSS, hatch=((30, 3.0),)),
    "corrosion": Sign("rust", _OCHRE, hatch=((45, 2.4), (135, 2.4))),
    "open seam": Sign("seam", _OXIDE, dash=(8, 3)),
    "lifted": Sign("lift", _PLUM, dash=(8, 2, 2, 2)),
    "warped or shrunk": Sign("bow", _PLUM, dash=(3, 3)),
    "broken part": Sign("break", _OXIDE, dash=(1, 2)),
    "old repair": Sign("mend", _MOSS, hatch=((0, 3.0),), dash=(10, 3, 1, 3)),
    "missing part": Sign("gap", _SLATE, dash=(2, 4)),
    "electrical fault": Sign("bolt", _OCHRE),
    "other": Sign("diamond", _SLATE, hatch=((15, 3.0),)),
}
"""The kinds of finding, in the order they are offered; the keys are the codes stored and sent (untranslated)."""

OTHER = "other"


def kind_of(word: str) -> tuple[str, str]:
    """Return (kind, own word): an unknown word becomes ``other`` and keeps its word."""
    plain = " ".join(word.lower().replace("_", " ").split())
    return (plain, "") if plain in KINDS else (OTHER, word.strip())

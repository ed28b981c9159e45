"""The marking canvas: a photo, its marks, and the tools that draw them, as one component of the page.

The script is plain JavaScript in files of one idea each, joined in the order of :data:`SCRIPTS`; all that the user
reads comes from the word catalogue and travels as data.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path

import polib
import streamlit as st

from condition import words
from condition.flow.signs import symbol
from condition.pages.scripts import ELEMENT, joined
from condition.records.legend import KINDS, Sign

FOLDER = Path(__file__).parent
SCRIPTS = (
    "geometry", "shapes", "view", "tiles", "layers", "outbox", "marks", "signs", "grid", "tags", "mask", "overlay",
    "tools", "ways", "sketch", "assists", "keys", "panel", "pointers", "bench",
)  # fmt: skip
HELPERS = {
    "outline": Sign("contour", "#1F5C57", dash=(6, 3)),
    "known distance": Sign("axis", "#40525A", dash=(1, 2)),
    "bank card": Sign("contour", "#40525A", dash=(2, 2)),
}
"""Marks that are no finding: the outline of a view, and a distance whose length is known."""

AREAS = ("canvas", "layers")
"""Files of the catalogue whose sentences the canvas says."""
STYLES = ("canvas", "layers")


@cache
def canvas_words(language: str = "en") -> dict[str, str]:
    """Return every sentence of the canvas by its id without the area, placeholders left in place."""
    said = {}
    for area in AREAS:
        entries = polib.pofile(str(words.FOLDER / language / f"{area}.po"))
        said.update({entry.msgid.removeprefix(f"{area}."): entry.msgstr for entry in entries})
    return said


@cache
def canvas_legend(language: str = "en") -> list[dict]:
    """Return how each kind is drawn and called, in the order the kinds are offered."""
    signs = [(kind, sign, False) for kind, sign in KINDS.items()] + [(k, s, True) for k, s in HELPERS.items()]
    return [
        {
            "kind": kind,
            "label": _label(words.say(f"canvas.kind.{kind}" if hidden else f"kind.{kind}", language)),
            **_symbol(sign),
            "colour": sign.colour,
            "hatch": [list(family) for family in sign.hatch],
            "dash": list(sign.dash),
            "hidden": hidden,
        }
        for kind, sign, hidden in signs
    ]


def _symbol(sign: Sign) -> dict[str, str]:
    """Return the symbol that map and report draw as SVG path data in a box from -8 to 8."""
    drawn = {"lines": "", "areas": ""}
    for path in symbol(sign, 0, 0, 8):
        for points in path.lines:
            places = "L".join(f"{x:.2f} {y:.2f}" for x, y in points)
            drawn["areas" if path.fill else "lines"] += f"M{places}{'Z' if path.closed else ''}"
    return drawn


def _label(word: str) -> str:
    return word[:1].upper() + word[1:]


@cache
def _script() -> str:
    return joined(ELEMENT, *(FOLDER / f"{name}.js" for name in SCRIPTS))


@cache
def _renderer() -> Callable:
    return st.components.v2.component(
        "marking_canvas",
        html='<div class="bench">\n</div>',
        css=joined(*(FOLDER / f"{name}.css" for name in STYLES)),
        js=_script(),
    )


def marking_canvas(
    *,
    key: str,
    photo: dict,
    marks: list[dict],
    findings: list[dict] | None = None,
    kind: str = "crack",
    finding_id: str | None = None,
    plane: dict | None = None,
    go_to: dict | None = None,
    tell_chosen: bool = False,
    layers: dict | None = None,
    height: int = 640,
    language: str = "en",
    watched: bool = False,
    on_saved: Callable[[], None] | None = None,
    on_chosen: Callable[[], None] | None = None,
) -> dict | None:
    """Show the canvas and return its last event.

    Parameters
    ----------
    key : the component's identity on the page; keep it the same over reruns
    photo : ``{"id", "width", "height"}`` of the upright photo in pixels; optional ``"levels"`` (tile levels) and
        ``"tiles"`` (address the tiles stand under, ``/bench/tiles/{id}/`` if not given)
    marks : ``{"id", "finding_id", "number", "kind", "shape", "text", "dimmed"}`` each, shape as
        :func:`condition.records.shapes.shape_to_dict` gives it, in upright pixels; ``"version"`` if known
    findings : ``{"id", "number", "kind", "words"}`` each: what a mark's shape can be copied to
    kind : kind of the marks drawn next
    finding_id : finding the next marks belong to; None makes a new finding of each
    plane : ``{"mm_per_px", "homography"}``, the homography 3 x 3, millimetres of the plane to upright pixels; None
        while the photo has no scale
    go_to : ``{"finding_id" or "mark_id", "nonce"}``: choose these marks and bring them into sight, once a nonce
    tell_chosen : send an event when another mark is chosen
    layers : ``{"list": [{"id", "label", "tiles", "rim"}], "elsewhere": [..]}``: pictures that can be faded in, their
        tiles in this photo's frame and their border in its pixels, and marks of the face's other photos
    height : of the photo's stage, in CSS pixels
    watched : tests only: leave a handle of the bench on the page
    on_saved, on_chosen : called, before the script runs again, when changes were saved or another mark was chosen

    Returns
    -------
    ``{"what": "saved", "photo_id", "at"}`` or ``{"what": "chosen", "photo_id", "mark_id", "finding_id"}`` in the run
    that the event caused, otherwise None.
    """
    data = {
        "photo": {"tiles": f"/bench/tiles/{photo['id']}/", **photo},
        "marks": marks,
        "findings": findings or [],
        "kind": kind,
        "finding_id": finding_id,
        "plane": plane,
        "go_to": go_to,
        "tell_chosen": tell_chosen,
        "layers": layers or {},
        "height": height,
        "words": canvas_words(language),
        "legend": canvas_legend(language),
        "watched": watched,
    }
    result = _renderer()(
        key=key, data=data, on_saved_change=on_saved or _nothing, on_chosen_change=on_chosen or _nothing
    )
    for what in ("saved", "chosen"):
        if event := getattr(result, what, None):
            return {"what": what, **event}
    return None


def _nothing() -> None:
    """Streamlit wants a callback for every event it is to deliver."""

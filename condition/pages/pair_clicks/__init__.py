"""Two photos side by side, and the same places clicked on both: how a photo is placed on its face by hand."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache
from pathlib import Path

import streamlit as st

from condition.pages.scripts import ELEMENT, joined
from condition.records.photo import Photo
from condition.records.shapes import Pair
from condition.words import say

FOLDER = Path(__file__).parent
MOST_PAIRS = 12
WORDS = (
    "pairs_photo",
    "pairs_base",
    "pairs_next_photo",
    "pairs_next_base",
    "pairs_clear",
    "pairs_remove",
    "pairs_place",
)


@cache
def _renderer() -> Callable:
    return st.components.v2.component(
        "pair_clicks",
        html='<div class="pairs">\n</div>',
        css=(FOLDER / "pairs.css").read_text(encoding="utf-8"),
        js=joined(ELEMENT, FOLDER / "pairs.js"),
    )


def pair_clicks(
    photo: Photo,
    base: Photo,
    pairs: tuple[tuple[Pair, Pair], ...],
    *,
    key: str,
    on_pairs: Callable[[tuple[tuple[Pair, Pair], ...]], None],
) -> None:
    """Show the photo and the face's base photo with the pairs clicked so far, upright pixels of each; whole pairs are
    told before the page runs again."""

    def tell() -> None:
        event = st.session_state[key].pairs
        if event:
            on_pairs(_read(event.get("pairs"), photo, base))

    _renderer()(
        key=key,
        data={
            "photos": [_shown(photo), _shown(base)],
            "pairs": [[list(here), list(there)] for here, there in pairs],
            "most": MOST_PAIRS,
            "words": {word: say(f"face.{word}", n="{n}") for word in WORDS},
        },
        on_pairs_change=tell,
    )


def _shown(photo: Photo) -> dict:
    level = max(0, math.ceil(math.log2(max(photo.width, photo.height) / 512)))
    return {
        "name": photo.file_name,
        "width": photo.width,
        "height": photo.height,
        "tiles": f"/bench/tiles/{photo.id}/",
        "levels": level + 1,
    }


def _read(given: object, photo: Photo, base: Photo) -> tuple[tuple[Pair, Pair], ...]:
    """Return the pairs a browser sent; what is no place of the two photos is left out."""
    found = []
    for pair in given if isinstance(given, list) else ():
        try:
            (x, y), (u, v) = ((float(a), float(b)) for a, b in pair)
        except (TypeError, ValueError):
            continue
        if 0 <= x <= photo.width and 0 <= y <= photo.height and 0 <= u <= base.width and 0 <= v <= base.height:
            found.append(((x, y), (u, v)))
    return tuple(found[:MOST_PAIRS])

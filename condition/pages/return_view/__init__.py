"""The pair view: an earlier and a later photo of one place, laid over each other, as one component of the page.

It shares tiles, view and geometry with the marking canvas. The later photo is seen through the pair's homography alone,
so raised parts lie a little beside themselves; the page says so.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path

import polib
import streamlit as st

from condition import words
from condition.pages.scripts import joined
from condition.records.legend import KINDS

FOLDER = Path(__file__).parent
CANVAS = FOLDER.parent / "canvas"
SCRIPTS = (
    *(CANVAS / f"{name}.js" for name in ("geometry", "view", "tiles")),
    *(FOLDER / f"{name}.js" for name in ("laid", "outlines", "looks", "panel", "stage")),
)
_PREFIX = "pair."


@cache
def pair_words(language: str = "en") -> dict[str, str]:
    """Return every sentence of the view by its id without the area, placeholders left in place."""
    entries = polib.pofile(str(words.FOLDER / language / "pair.po"))
    return {entry.msgid.removeprefix(_PREFIX): entry.msgstr for entry in entries if entry.msgid.startswith(_PREFIX)}


@cache
def _renderer() -> Callable:
    return st.components.v2.component(
        "return_view",
        html='<div class="pair">\n</div>',
        css=(FOLDER / "return_view.css").read_text(encoding="utf-8"),
        js=joined(*SCRIPTS),
    )


def return_view(
    *,
    key: str,
    pair: dict,
    changes: list[dict],
    findings: list[dict],
    residue: str = "",
    go_to: dict | None = None,
    drawing: bool = False,
    undo: bool = False,
    turns: bool = False,
    height: int = 560,
    language: str = "en",
    watched: bool = False,
    on_decided: Callable[[dict], None] | None = None,
    on_turned: Callable[[dict], None] | None = None,
) -> dict | None:
    """Show the pair and return its last event.

    Parameters
    ----------
    pair : ``{"id", "before", "after", "homography", "tone"}``; the photos ``{"id", "name", "width", "height",
        "tiles"}``, the homography nine numbers from earlier to later upright pixels, tone as the pair's record has it
    changes : ``{"id", "label", "ring", "sure", "first", "known", "decision", "told"}`` each, in steps' order, ring in
        earlier pixels; ``first``: shown and stepped through though in doubt; ``known``: at a finding, whose verdict
        tells of it
    findings : ``{"number", "points", "closed"}`` each, in earlier pixels
    residue : what the view cannot show, in words
    go_to : ``{"change_id", "nonce"}``: choose this change and bring it into sight, once a nonce; with ``"box"``
        (left, top, right, bottom in earlier pixels) bring that into sight instead
    drawing : clicks draw a region on the earlier photo
    undo : there is a decision to take back
    turns : there is another pair to go on to
    height : of the pictures, in CSS pixels
    watched : tests only: leave a handle of the view on the page
    on_decided : called, before the script runs again, with ``{"change_id", "act", "words", "kind"}``; ``act`` is
        ``accept``, ``explain``, ``dismiss``, ``reopen`` or, for the last decision, ``undo``
    on_turned : called, before the script runs again, with ``{"by"}``, +1 for the next pair, -1 for the last one

    Returns
    -------
    ``{"what": "chosen", "change_id", "at"}`` or ``{"what": "drew", "photo_id", "ring", "at"}`` in the run that the
    event caused, otherwise None.
    """
    data = {
        "pair": pair,
        "changes": changes,
        "findings": findings,
        "residue": residue,
        "go_to": go_to,
        "drawing": drawing,
        "undo": undo,
        "turns": turns,
        "kinds": [{"code": kind, "label": words.say(f"kind.{kind}", language)} for kind in KINDS],
        "height": height,
        "words": pair_words(language),
        "watched": watched,
    }

    def heard(what: str, tell: Callable[[dict], None] | None) -> Callable[[], None]:
        def hear() -> None:
            event = getattr(st.session_state[key], what)
            if event and tell is not None:
                tell(event)

        return hear

    result = _renderer()(
        key=key,
        data=data,
        on_chosen_change=_nothing,
        on_drew_change=_nothing,
        on_decided_change=heard("decided", on_decided),
        on_turned_change=heard("turned", on_turned),
    )
    for what in ("chosen", "drew"):
        if event := getattr(result, what, None):
            return {"what": what, **event}
    return None


def _nothing() -> None:
    """Streamlit wants a callback for every event it is to deliver."""

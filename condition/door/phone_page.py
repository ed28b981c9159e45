"""The phone's one page: the template with its words put in."""

from __future__ import annotations

import html
import json
import re
from functools import cache
from pathlib import Path

from condition.words import say

_TEMPLATE = Path(__file__).with_name("phone.html")
SPOKEN = (
    "sending", "waiting", "kept", "already_here", "good", "not_taken", "cards", "no_answer", "ended", "note_kept",
    "until", "photos_in", "any_face", "away", "left", "no_room", "look_kept", "receipt_kept", "making_sheet",
    "sheet_made",
)  # fmt: skip
"""What the page's script says itself; the rest stands in the template as ``{{code}}``."""


@cache
def phone_page() -> str:
    """Return the page as HTML; every word in it comes from the catalogue and is escaped."""
    spoken = {code: say(f"phone.js_{code}") for code in SPOKEN}
    words = json.dumps(spoken, ensure_ascii=False).replace("<", "\\u003c")
    text = re.sub(
        r"\{\{(\w+)\}\}",
        lambda found: html.escape(say(f"phone.{found.group(1)}")),
        _TEMPLATE.read_text(encoding="utf-8"),
    )
    return text.replace("@WORDS@", words)

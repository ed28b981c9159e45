"""The findings beside the picture: one component, so that keys go from one to the next without the page reloading.

The script is plain JavaScript; all that the user reads travels as data and is set as text.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path

import streamlit as st

from condition.flow.finding_rows import FindingRow
from condition.pages.canvas import canvas_legend
from condition.pages.scripts import ELEMENT, joined
from condition.records.measurement import Measurement, as_text
from condition.words import say

FOLDER = Path(__file__).parent
WORDS = ("label", "keys", "no_photo", "doubtful", "proposed", "tick", "elsewhere")


@cache
def _renderer() -> Callable:
    return st.components.v2.component(
        "finding_list",
        html='<div class="findings">\n</div>',
        css=(FOLDER / "list.css").read_text(encoding="utf-8"),
        js=joined(ELEMENT, FOLDER / "list.js"),
    )


def finding_list(
    rows: tuple[FindingRow, ...],
    *,
    key: str,
    chosen: str | None,
    ticked: tuple[str, ...],
    photo_id: str,
    on_chosen: Callable[[dict], None],
    on_ticked: Callable[[tuple[str, ...]], None],
) -> None:
    """Show the findings of a job; what is chosen or ticked is told before the page runs again.

    Parameters
    ----------
    chosen, ticked : ids of the finding that is looked at and of those to be changed together
    photo_id : the photo beside the list; a finding not marked on it is shown paler
    on_chosen : gets ``{"finding_id"}``; on_ticked : gets the ids
    """

    def tell_chosen() -> None:
        event = st.session_state[key].chosen
        if event:
            on_chosen(event)

    def tell_ticked() -> None:
        event = st.session_state[key].ticked
        if event:
            on_ticked(tuple(event["ids"]))

    _renderer()(
        key=key,
        data={
            "rows": [_row(row, photo_id) for row in rows],
            "chosen": chosen,
            "ticked": list(ticked),
            "words": {word: say(f"findings.{word}", number="{number}") for word in WORDS},
        },
        on_chosen_change=tell_chosen,
        on_ticked_change=tell_ticked,
    )


def _row(row: FindingRow, photo_id: str) -> dict:
    finding = row.finding
    sign = next(one for one in canvas_legend() if one["kind"] == finding.kind)
    return {
        "id": finding.id,
        "number": finding.number,
        "kind": finding.own_kind or sign["label"],
        "lines": sign["lines"],
        "areas": sign["areas"],
        "colour": sign["colour"],
        "place": row.place,
        "proposed": not finding.place and bool(row.proposed),
        "doubtful": finding.state == "doubtful",
        "measured": _measured(row.measured),
        "decision": say(f"decision.{finding.decision.replace(' ', '_')}") if finding.decision else "",
        "shown": row.shown,
        "here": photo_id in row.photo_ids,
    }


def _measured(measured: tuple[Measurement, ...]) -> str:
    """What counts first; of several holes how many and how wide."""
    if not measured:
        return ""
    size = next((one for one in measured if one.quantity == "diameter"), None)
    if measured[0].quantity == "count" and size is not None:
        return f"{as_text(measured[0])} × {as_text(size)}"
    return as_text(measured[0])

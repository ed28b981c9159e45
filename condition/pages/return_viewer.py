"""The compared pairs in the viewer: one at a time, its changes and findings over it."""

from __future__ import annotations

from dataclasses import replace
from time import time

import streamlit as st

from condition.flow.return_changes import changes_of
from condition.flow.return_check import declare, pairs_of
from condition.pages.frame import desk, told
from condition.pages.return_declared import DRAWING
from condition.pages.return_view import return_view
from condition.records.finding import Finding
from condition.records.mark import Mark
from condition.records.photo import Photo
from condition.records.return_check import DeclaredRegion, ReturnChange, ReturnCheck, ReturnPair
from condition.records.shapes import Ring, shape_to_dict
from condition.words import say

HEIGHT_PX = 560
CHOSEN = "return-chosen"
"""Key of the change the page is about; the list and the viewer share it."""


def viewer(check: ReturnCheck) -> None:
    pairs = [pair for pair in pairs_of(desk(), check) if pair.state == "compared"]
    photos = {photo.id: photo for photo in desk().store.find(Photo, job_id=check.job_id)}
    changes = changes_of(desk(), check)
    wanted = next((one for one in changes if one.id == st.session_state.get(CHOSEN)), None)
    ids = [pair.id for pair in pairs]
    if wanted is not None and st.session_state.get("return-shown") != wanted.id:
        st.session_state["return-pair"] = wanted.pair_id
        st.session_state["return-shown"] = wanted.id
    if st.session_state.get("return-pair") not in ids:
        st.session_state["return-pair"] = ids[0]
    chosen = st.segmented_control(
        say("returns.pair_shown"),
        ids,
        key="return-pair",
        format_func=lambda pair_id: _name(next(pair for pair in pairs if pair.id == pair_id), photos),
    )
    pair = next((pair for pair in pairs if pair.id == chosen), pairs[0])
    here = [one for one in changes if one.pair_id == pair.id]
    labels = change_labels(changes)
    event = return_view(
        key="return-view",
        pair=_pair_data(pair, photos),
        changes=[_change_data(one, labels[one.id]) for one in here],
        findings=_findings_data(check, pair),
        residue=say("returns.residue", residual=f"{pair.residual_px:.1f}"),
        go_to={"change_id": wanted.id, "nonce": st.session_state.get("return-nonce", wanted.id)} if wanted else None,
        drawing=bool(st.session_state.get(DRAWING)),
        height=HEIGHT_PX,
    )
    if event is not None:
        _heard(check, event)


def change_labels(changes: tuple[ReturnChange, ...]) -> dict[str, str]:
    """Return what a change is called on the page: a letter's turn, A to Z, then AA."""
    return {one.id: _letters(k) for k, one in enumerate(sorted(changes, key=lambda c: (bool(c.reason), -c.sureness)))}


def _letters(k: int) -> str:
    return (_letters(k // 26 - 1) if k >= 26 else "") + chr(ord("A") + k % 26)


def show_change(change: ReturnChange) -> None:
    """Bring a change into sight in the viewer."""
    st.session_state[CHOSEN] = change.id
    st.session_state["return-shown"] = None
    st.session_state["return-nonce"] = f"{change.id}-{time()}"


def _name(pair: ReturnPair, photos: dict[str, Photo]) -> str:
    before = photos[pair.before_id]
    return before.caption or before.file_name


def _pair_data(pair: ReturnPair, photos: dict[str, Photo]) -> dict:
    def told_of(photo: Photo) -> dict:
        return {
            "id": photo.id,
            "name": photo.file_name,
            "width": photo.width,
            "height": photo.height,
            "tiles": f"/bench/tiles/{photo.id}/",
        }

    return {
        "id": f"{pair.id}-{pair.compared_at}",
        "before": told_of(photos[pair.before_id]),
        "after": told_of(photos[pair.after_id]),
        "homography": list(pair.homography),
        "tone": [list(one) for one in pair.tone],
    }


def _change_data(change: ReturnChange, label: str) -> dict:
    return {
        "id": change.id,
        "label": label,
        "ring": [list(point) for point in change.ring_before_px.points],
        "sure": not change.reason,
        "decision": change.decision,
        "told": f"{label}, {say(f'returns.decision_{change.decision}')}",
    }


def _findings_data(check: ReturnCheck, pair: ReturnPair) -> list[dict]:
    numbers = {finding.id: finding.number for finding in desk().store.find(Finding, job_id=check.job_id)}
    kept = []
    for mark in desk().store.find(Mark, photo_id=pair.before_id, role="finding"):
        place = next((place for place in pair.places if place.mark_id == mark.id), None)
        shape = shape_to_dict(place.ring_before_px if place else mark.shape_px)
        if mark.finding_id in numbers and "points" in shape:
            kept.append(
                {
                    "number": numbers[mark.finding_id],
                    "points": shape["points"],
                    "closed": shape["shape"] == "ring",
                }
            )
    return kept


def _heard(check: ReturnCheck, event: dict) -> None:
    if event["what"] == "chosen":
        st.session_state[CHOSEN] = event["change_id"]
        st.session_state["return-shown"] = event["change_id"]
        return
    drawing = st.session_state.get(DRAWING)
    declared = next((one for one in check.declared if one.id == drawing), None)
    if declared is None or st.session_state.get("return-drew") == event["at"]:
        return
    st.session_state["return-drew"] = event["at"]
    region = DeclaredRegion(event["photo_id"], Ring(tuple((float(x), float(y)) for x, y in event["ring"])))
    with told():
        declare(desk(), check, replace(declared, regions=(*declared.regions, region)))
        st.session_state[DRAWING] = None
        st.rerun()

"""The compared pairs in the viewer: one at a time, its changes and findings over it."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from time import time

import streamlit as st

from condition.flow.desk import Desk
from condition.flow.return_changes import changes_of
from condition.flow.return_check import declare, pairs_of
from condition.flow.return_doubt import doubt_of
from condition.pages.frame import again, desk, told
from condition.pages.return_decided import can_take_back, heard
from condition.pages.return_declared import DRAWING
from condition.pages.return_view import return_view
from condition.records.finding import Finding
from condition.records.mark import Mark
from condition.records.photo import Photo
from condition.records.return_check import DeclaredRegion, ReturnChange, ReturnCheck, ReturnPair, ReturnVerdict
from condition.records.shapes import Ring, shape_to_dict
from condition.words import say

HEIGHT_PX = 560
CHOSEN = "return-chosen"
"""Key of the change the page is about; the list and the viewer share it."""


def viewer(check: ReturnCheck, changes: tuple[ReturnChange, ...], first: tuple[ReturnChange, ...]) -> None:
    """Show the pair that is looked at.

    changes : all of the check's; first : those in doubt that are stepped through all the same
    """
    pairs = [pair for pair in pairs_of(desk(), check) if pair.state == "compared"]
    photos = {photo.id: photo for photo in desk().store.find(Photo, job_id=check.job_id)}
    wanted = next((one for one in changes if one.id == st.session_state.get(CHOSEN)), None)
    ids = [pair.id for pair in pairs]
    if wanted is not None and st.session_state.get("return-shown") != wanted.id:
        st.session_state["return-pair"] = wanted.pair_id
        st.session_state["return-shown"] = wanted.id
    if st.session_state.get("return-pair") not in ids:
        st.session_state["return-pair"] = ids[0]
    names = pair_names(check)
    chosen = st.segmented_control(say("returns.pair_shown"), ids, key="return-pair", format_func=names.get)
    pair = next((pair for pair in pairs if pair.id == chosen), pairs[0])
    here = sorted((one for one in changes if one.pair_id == pair.id), key=lambda one: bool(one.touches))
    labels, kept = change_labels(changes), {one.id for one in first}
    event = return_view(
        key="return-view",
        pair=_pair_data(pair, photos),
        changes=[_change_data(one, labels[one.id], one.id in kept) for one in here],
        findings=_findings_data(check, pair),
        residue=say("returns.residue", residual=f"{pair.residual_px:.1f}"),
        go_to=_go_to(pair, wanted),
        drawing=bool(st.session_state.get(DRAWING)),
        undo=can_take_back(check),
        turns=len(pairs) > 1,
        height=HEIGHT_PX,
        on_decided=partial(_decided, desk(), check),
        on_turned=partial(_turned, desk(), check, pair.id),
    )
    if event is not None:
        _heard(check, event)


def pair_names(check: ReturnCheck) -> dict[str, str]:
    """Return what each compared pair is called on the page, by its id: its earlier photo's caption or file."""
    photos = {photo.id: photo for photo in desk().store.find(Photo, job_id=check.job_id)}
    return {
        pair.id: photos[pair.before_id].caption or photos[pair.before_id].file_name
        for pair in pairs_of(desk(), check)
        if pair.state == "compared"
    }


def _go_to(pair: ReturnPair, wanted: ReturnChange | None) -> dict | None:
    """What to bring into sight: the finding asked for last, or the change that is chosen."""
    box = st.session_state.get("return-box")
    if box is not None and box["pair_id"] == pair.id:
        return {"box": box["box"], "nonce": box["nonce"]}
    if wanted is None or wanted.pair_id != pair.id:
        return None
    return {"change_id": wanted.id, "nonce": st.session_state.get("return-nonce", wanted.id)}


def _decided(at: Desk, check: ReturnCheck, event: dict) -> None:
    change = at.store.one(ReturnChange, id=heard(at, check, event), check_id=check.id)
    if change is not None:
        show_change(change)


def _turned(at: Desk, check: ReturnCheck, shown: str, event: dict) -> None:
    """Go to the next pair and the first change on it, or to the last pair and its last one."""
    ids = [pair.id for pair in pairs_of(at, check) if pair.state == "compared"]
    if shown not in ids:
        return
    pair_id = ids[(ids.index(shown) + event["by"]) % len(ids)]
    st.session_state["return-pair"] = pair_id
    st.session_state["return-box"] = None
    changes = changes_of(at, check)
    first = {one.id for one in doubt_of(at, check, changes)[0]}
    here = [one for one in changes if one.pair_id == pair_id and (not one.reason or one.id in first)]
    here.sort(key=lambda one: bool(one.touches))
    st.session_state[CHOSEN] = here[0 if event["by"] > 0 else -1].id if here else None
    st.session_state["return-shown"] = st.session_state[CHOSEN]
    st.session_state["return-nonce"] = f"turned-{event['at']}"


def change_labels(changes: tuple[ReturnChange, ...]) -> dict[str, str]:
    """Return what a change is called on the page: a letter's turn, A to Z, then AA."""
    return {one.id: _letters(k) for k, one in enumerate(sorted(changes, key=lambda c: (bool(c.reason), -c.sureness)))}


def _letters(k: int) -> str:
    return (_letters(k // 26 - 1) if k >= 26 else "") + chr(ord("A") + k % 26)


def show_change(change: ReturnChange) -> None:
    """Bring a change into sight in the viewer."""
    st.session_state[CHOSEN] = change.id
    st.session_state["return-shown"] = None
    st.session_state["return-box"] = None
    st.session_state["return-nonce"] = f"{change.id}-{time()}"


def show_finding(verdict: ReturnVerdict) -> None:
    """Bring the place of a finding into sight in the viewer: on the pair its verdict rests on, else on any."""
    pairs = desk().store.find(ReturnPair, check_id=verdict.check_id, state="compared")
    for pair in sorted(pairs, key=lambda one: one.id != verdict.pair_id):
        rings = [place.ring_before_px for place in pair.places if place.finding_id == verdict.finding_id]
        if rings:
            xs, ys = zip(*(point for ring in rings for point in ring.points), strict=True)
            box, nonce = [min(xs), min(ys), max(xs), max(ys)], f"{verdict.finding_id}-{time()}"
            st.session_state["return-pair"] = pair.id
            st.session_state[CHOSEN] = None
            st.session_state["return-box"] = {"pair_id": pair.id, "box": box, "nonce": nonce}
            return


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


def _change_data(change: ReturnChange, label: str, first: bool) -> dict:
    return {
        "id": change.id,
        "label": label,
        "ring": [list(point) for point in change.ring_before_px.points],
        "sure": not change.reason,
        "first": first,
        "known": bool(change.touches),
        "decision": change.decision,
        "told": ", ".join(filter(None, (label, say(f"returns.decision_{change.decision}"), _doubt(change)))),
    }


def _doubt(change: ReturnChange) -> str:
    return say(f"compare.reason_{change.reason}") if change.reason else ""


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
        st.session_state["return-box"] = None
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
        again()

"""Decisions on changes as the page takes them, from keys or buttons, and the last ones taken back."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import streamlit as st

from condition.flow.desk import Desk
from condition.flow.return_changes import accept_as_finding, dismiss, explain, reopen
from condition.flow.return_doubt import open_together, settle_together
from condition.pages.frame import told
from condition.records.finding import Finding
from condition.records.return_check import ReturnChange, ReturnCheck

Act = Literal["accept", "explain", "dismiss", "reopen"]


def decide(
    at: Desk, change: ReturnChange, act: Act, words: str = "", kind: str = "", finding_id: str | None = None
) -> None:
    """Do what was said of a change and remember it, so that it can be taken back.

    Raises
    ------
    Refused
        As :mod:`condition.flow.return_changes`; nothing is remembered then.
    """
    match act:
        case "accept":
            accept_as_finding(at, change, kind, words, finding_id)
        case "explain":
            explain(at, change, words)
        case "dismiss":
            dismiss(at, change, words)
        case "reopen":
            finding = at.store.one(Finding, id=change.finding_id) if change.finding_id else None
            reopen(at, change)
            _remember(change.check_id, ("again", change, finding.kind if finding else ""))
            return
    _remember(change.check_id, ("open", (change.id,), ""))


def settle(at: Desk, check: ReturnCheck, changes: Sequence[ReturnChange], words: str) -> None:
    """Put changes aside with one reason and remember them as one decision."""
    settled = settle_together(at, changes, words)
    if settled:
        _remember(check.id, ("together", settled, ""))


def can_take_back(check: ReturnCheck) -> bool:
    return bool(st.session_state.get(_key(check.id)))


def take_back(at: Desk, check: ReturnCheck) -> str:
    """Take the last decision of this visit back; return the id of the change it was about, the first of several."""
    done = st.session_state.get(_key(check.id), [])
    if not done:
        return ""
    what, about, kind = done.pop()
    match what:
        case "open":
            change = at.store.one(ReturnChange, id=about[0])
            if change is not None:
                reopen(at, change)
        case "together":
            open_together(at, about)
        case "again":
            _again(at, about, kind)
            return about.id
    return about[0]


def heard(at: Desk, check: ReturnCheck, event: dict) -> str:
    """Do what the keys of the viewer said; return the id of a change that is to be looked at again, else nothing."""
    with told():
        if event["act"] == "undo":
            return take_back(at, check)
        change = at.store.one(ReturnChange, id=event["change_id"], check_id=check.id)
        if change is not None:
            decide(at, change, event["act"], event["words"], event["kind"])
    return ""


def _again(at: Desk, change: ReturnChange, kind: str) -> None:
    """Decide as it was decided before it was opened again; what a declared change explained stays open."""
    match change.decision:
        case "accepted" if kind:
            known = at.store.one(Finding, id=change.finding_id)
            accept_as_finding(at, change, kind, change.words, known.id if known else None)
        case "explained" if change.words:
            explain(at, change, change.words)
        case "dismissed":
            dismiss(at, change, change.words)


def _remember(check_id: str, done: tuple) -> None:
    st.session_state.setdefault(_key(check_id), []).append(done)


def _key(check_id: str) -> str:
    return f"return-undo-{check_id}"

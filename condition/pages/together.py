"""Several findings changed at once: a kind, a state, a decision, a reason; one undo for all of it."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from condition.flow.finding_edits import edit_together, last_removed, put_back, take_back
from condition.flow.finding_rows import FindingRow
from condition.pages.finding_editor import DECISIONS
from condition.pages.frame import again, desk, told
from condition.records.job import Job
from condition.records.legend import KINDS
from condition.words import say, say_n

_DONE = "changed-together"


def change_together(rows: Sequence[FindingRow], ticked: tuple[str, ...], turn: int) -> bool:
    """Show what the ticked findings can be given; returns whether they were unticked or changed.

    turn : counts the changes made, so that the fields start empty again
    """
    with st.container(border=True, key="together"):
        st.markdown(f"**{say_n('examine.together', len(ticked))}**")
        fields = {
            "kind": _choice("kind", tuple(KINDS), lambda kind: say(f"kind.{kind}"), turn),
            "state": _choice("state", ("sure", "doubtful"), lambda state: say(f"finding.{state}"), turn),
            "decision": _choice("decision", DECISIONS, _decision, turn),
        }
        reason = st.text_input(
            say("examine.together_reason"), placeholder=say("examine.no_reason"), key=f"together-reason-{turn}"
        )
        fields["decision_reason"] = reason.strip() or None
        with st.container(horizontal=True, key="together-do"):
            given = any(value is not None for value in fields.values())
            if st.button(say_n("examine.together_change", len(ticked)), type="primary", disabled=not given):
                with told():
                    operation = edit_together(desk(), ticked, **fields)
                    st.session_state[_DONE] = (operation, len(ticked))
                    return True
            return st.button(say("examine.together_untick"))


def undo_line(job: Job) -> None:
    """Offer to take back the last change of several findings, or to put back a finding just removed."""
    if _DONE in st.session_state:
        operation, count = st.session_state[_DONE]
        with st.container(horizontal=True, vertical_alignment="center", key="undo-together"):
            st.caption(say_n("examine.together_done", count))
            if st.button(say("examine.take_back")):
                with told():
                    back = take_back(desk(), operation)
                    del st.session_state[_DONE]
                    st.toast(say_n("examine.taken_back", len(back)))
                    again()
    gone = last_removed(desk(), job, st.session_state.get("finding-looked-at"))
    if gone is not None:
        with st.container(horizontal=True, vertical_alignment="center", key="undo-removed"):
            st.caption(say("examine.removed", number=gone.number))
            if st.button(say("examine.put_back")):
                with told():
                    put_back(desk(), gone.id)
                    st.session_state["finding"] = gone.id
                    again()


def _choice(name: str, options: tuple[str, ...], word, turn: int) -> str | None:
    return st.selectbox(
        say(f"examine.together_{name}"),
        options,
        index=None,
        format_func=word,
        placeholder=say("examine.as_it_is"),
        key=f"together-{name}-{turn}",
    )


def _decision(decision: str) -> str:
    return say(f"decision.{decision.replace(' ', '_')}") if decision else say("decision.none")

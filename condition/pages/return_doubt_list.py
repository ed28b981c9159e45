"""Doubtful places told together by cause: counted, shown on the photos, settled with one stated reason."""

from __future__ import annotations

from collections.abc import Callable

import streamlit as st

from condition.flow.return_rest import places_told
from condition.pages.frame import again, desk, plain, told
from condition.pages.return_decided import settle
from condition.pages.return_viewer import show_change
from condition.records.return_check import ReturnChange, ReturnCheck
from condition.records.return_sheet import DoubtGroup
from condition.words import say, say_n

CAUSES = ("light", "raised", "border", "dark")


def doubt_list(
    check: ReturnCheck,
    groups: tuple[DoubtGroup, ...],
    changes: dict[str, ReturnChange],
    names: dict[str, str],
    one_by_one: Callable[[list[ReturnChange], str], None],
) -> None:
    """Show the groups of doubtful places.

    Parameters
    ----------
    names : of the pairs, by their ids
    one_by_one : shows the cards of changes, given a name for their list
    """
    if not groups:
        return
    count = sum(len(one.change_ids) for one in groups)
    st.markdown(f"### {say_n('returns.told_together', count)}")
    st.caption(say("returns.told_together_help"))
    for cause in CAUSES:
        here = [one for one in groups if one.cause == cause]
        if here:
            _cause(check, cause, here, changes, names, one_by_one)


def _cause(
    check: ReturnCheck,
    cause: str,
    groups: list[DoubtGroup],
    changes: dict[str, ReturnChange],
    names: dict[str, str],
    one_by_one: Callable[[list[ReturnChange], str], None],
) -> None:
    members = [changes[key] for one in groups for key in one.change_ids]
    words = say(f"returns.cause_{cause}")
    label = say_n("returns.of_cause", len(members), cause=words)
    place = st.expander(label, key=f"list-{cause}", on_change="rerun")
    if not place.open:
        return
    with place:
        st.caption("  \n".join(plain(f"{names[one.pair_id]}: {places_told(one)}") for one in groups))
        reason = st.text_input(
            say("returns.one_reason"), say(f"returns.reason_{cause}"), key=f"reason-{check.id}-{cause}"
        )
        where = st.selectbox(
            say("returns.on_which"),
            [None, *(one.pair_id for one in groups)],
            format_func=lambda key: say("returns.on_all") if key is None else names[key],
            key=f"where-{check.id}-{cause}",
        )
        wanted = [one for one in members if where is None or one.pair_id == where]
        with st.container(horizontal=True, gap="small"):
            if st.button(say_n("returns.put_aside", len(wanted)), key=f"aside-{cause}"):
                with told():
                    settle(desk(), check, wanted, reason)
                    again()
            if st.button(say("returns.show_strongest"), key=f"strongest-{cause}"):
                show_change(max(wanted, key=lambda one: one.sureness))
                again()
        if st.toggle(say("returns.one_by_one"), key=f"each-{cause}"):
            one_by_one(wanted, f"each-{cause}")

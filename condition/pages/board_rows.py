"""The strings with their pull on the neck; the board with its frets, the string length and the weight."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import streamlit as st

from condition.flow.board_fit import board_of
from condition.flow.readings import USUAL_FRETS
from condition.flow.strings import keep_strings, pull_of, string_length, strings_at
from condition.pages.frame import again, desk, told
from condition.pages.setup_rows import by_spot, finer, reading_field
from condition.pages.typed_field import typed_field
from condition.records.job import Job
from condition.records.measurement import as_text
from condition.records.reading import FittedString, Occasion, StringSet
from condition.words import say

SLACKNESS = ("at pitch", "slack", "off")
WINDINGS = ("plain", "wound", "wound bronze", "other")


def strings(job: Job, occasion: Occasion) -> None:
    known = strings_at(desk(), job, occasion)
    key = f"slack-{known.id if known.version else job.id}-{occasion}-{known.version}"
    st.segmented_control(
        say("readings.slackness"),
        SLACKNESS,
        default=known.slackness,
        format_func=lambda one: say(f"readings.slack_{one.replace(' ', '_')}"),
        key=key,
        on_change=lambda: _slackness(job, occasion, st.session_state[key]),
    )
    for string in known.strings:
        _string(job, occasion, known, string)
    _count(job, occasion, known)
    _pull(job, occasion, known)


def _slackness(job: Job, occasion: Occasion, value: str | None) -> None:
    with told():
        now = strings_at(desk(), job, occasion)
        keep_strings(desk(), replace(now, slackness=value or now.slackness))


def _string(job: Job, occasion: Occasion, known: StringSet, string: FittedString) -> None:
    base = f"s-{job.id}-{occasion}-{string.number}-{known.version}"
    note, gauge, winding, count = st.columns([2, 2, 3, 2])

    def keep(field: str, value: object) -> None:
        now = strings_at(desk(), job, occasion)
        edited = tuple(replace(s, **{field: value}) if s.number == string.number else s for s in now.strings)
        keep_strings(desk(), replace(now, strings=edited))

    def chosen(field: str, key: str) -> None:
        with told():
            keep(field, st.session_state[key])

    with note:
        typed_field(say("readings.note_of", number=string.number), f"{base}-note", string.note, partial(keep, "note"))
    with gauge:
        typed_field(
            say("readings.gauge_of", number=string.number),
            f"{base}-gauge",
            string.gauge_typed,
            partial(keep, "gauge_typed"),
            placeholder=say("readings.gauge_hint"),
        )
    with winding:
        st.selectbox(
            say("readings.winding_of", number=string.number),
            WINDINGS,
            WINDINGS.index(string.winding),
            format_func=lambda one: say(f"readings.winding_{one.replace(' ', '_')}"),
            key=f"{base}-winding",
            on_change=partial(chosen, "winding", f"{base}-winding"),
        )
    with count:
        st.selectbox(
            say("readings.in_course", number=string.number),
            (1, 2, 3),
            string.in_course - 1,
            key=f"{base}-count",
            on_change=partial(chosen, "in_course", f"{base}-count"),
        )


def _count(job: Job, occasion: Occasion, known: StringSet) -> None:
    """One course more or one less; the taken one is the lowest."""
    with st.container(horizontal=True, key=f"bench-count-{occasion}"):
        if st.button(say("readings.string_more"), key=f"more-{occasion}"):
            with told():
                number = max((s.number for s in known.strings), default=0) + 1
                keep_strings(desk(), replace(known, strings=(*known.strings, FittedString(number))))
                again()
        if len(known.strings) > 1 and st.button(say("readings.string_less"), key=f"less-{occasion}"):
            with told():
                keep_strings(desk(), replace(known, strings=known.strings[:-1]))
                again()


def _pull(job: Job, occasion: Occasion, known: StringSet) -> None:
    pull = pull_of(known, string_length(desk(), job, occasion))
    if pull.total is None:
        st.caption(say("readings.pull_unknown"))
        return
    st.markdown(say("readings.pull", pull=as_text(pull.total), kilogram=f"{pull.total.value / 9.80665:.0f}"))
    if pull.left_out:
        st.caption(say("readings.pull_left_out", strings=", ".join(map(str, pull.left_out))))
    if pull.estimated:
        st.caption(say("readings.pull_estimated"))


def board(job: Job, occasion: Occasion) -> None:
    known = by_spot(job, occasion)
    left, right = st.columns(2)
    with left:
        reading_field(job, occasion, known, "string length", say("readings.string_length"))
    with right:
        reading_field(job, occasion, known, "weight", say("readings.weight"))
    st.markdown(f"**{say('readings.fret_heights')}**")
    _frets(job, occasion, known, "fret height")
    st.markdown(f"**{say('readings.fret_places')}**")
    _frets(job, occasion, known, "fret place")
    _fits(job, occasion)
    finer(job, known, ("string length", "weight", "fret height", "fret place"))


def _frets(job: Job, occasion: Occasion, known: dict, what: str) -> None:
    read = {fret for kind, _, fret in known if kind == what and fret}
    frets = sorted({*USUAL_FRETS[what], *read, *st.session_state.get(f"frets-{what}", ())})
    for row in range(0, len(frets), 6):
        for column, fret in zip(st.columns(6), frets[row : row + 6], strict=False):
            with column:
                reading_field(job, occasion, known, what, say("readings.fret", fret=fret), fret=fret)
    with st.popover(say("readings.other_fret"), key=f"bench-more-{what}"):
        fret = st.number_input(say("readings.which_fret"), 1, 36, 3, key=f"which-{what}-{occasion}")
        if st.button(say("readings.add_fret"), key=f"add-{what}-{occasion}"):
            st.session_state[f"frets-{what}"] = (*st.session_state.get(f"frets-{what}", ()), int(fret))
            again()


def _fits(job: Job, occasion: Occasion) -> None:
    """The string length the frets imply, by both rules, and where the stated one puts them."""
    found = board_of(desk(), job, occasion)
    if found is None:
        return
    for fit, within in zip(found.fits, found.expanded_mm, strict=True):
        st.markdown(
            say(
                f"readings.board_{fit.rule}",
                length=f"{fit.length_mm:.1f}",
                within=f"{within:.1f}",
                spread=f"{fit.spread_mm:.2f}",
            )
        )
    st.caption(say("readings.board_apart" if found.told_apart else "readings.board_not_apart"))
    if found.rows[0].exact_mm is not None:
        lines = [say("readings.board_head"), "|---|---|---|---|"]
        lines += [
            f"| {row.fret} | {row.measured_mm:.1f} | {row.exact_mm:.1f} | {row.eighteen_mm:.1f} |" for row in found.rows
        ]
        st.markdown("\n".join(lines))

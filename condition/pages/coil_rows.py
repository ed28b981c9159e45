"""Coil resistance at the output jack: one card a switch position, the raw reading first."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import streamlit as st

from condition.flow.coil import sentences
from condition.flow.readings import readings_of, remove_reading, type_coil
from condition.flow.undo import put_back
from condition.pages.budget_bars import budget_bars
from condition.pages.frame import again, desk, plain, told
from condition.pages.put_back import offer_back, taken_away
from condition.pages.typed_field import typed_field
from condition.records.job import Job
from condition.records.measurement import as_text
from condition.records.reading import Coil, Occasion, Reading
from condition.words import say

STATES = ("steady", "wandering", "open", "shorted", "not this way")
VOLUMES = ("full", "not full", "none")
TONES = ("not swept", "still", "moves")


def coils(job: Job, occasion: Occasion) -> None:
    st.markdown(say("readings.coil_words"))
    taken = [one for one in readings_of(desk(), job, occasion) if one.what == "coil"]
    for reading in taken:
        with st.container(border=True, key=f"bench-coil-{reading.id}"):
            _row(job, reading)
    offer_back(f"coils-{occasion}", partial(put_back, desk(), Reading))
    _new(job, occasion, taken)


def _new(job: Job, occasion: Occasion, taken: list[Reading]) -> None:
    """A further switch position; the finer terms are taken over from the last one, or from before the work."""
    with st.form(f"new-coil-{occasion}", border=False, clear_on_submit=True):
        left, middle, right = st.columns([2, 2, 1], vertical_alignment="bottom")
        place = left.text_input(say("readings.position"), placeholder=say("readings.position_hint"))
        text = middle.text_input(say("readings.raw"), placeholder=say("readings.hint_resistance"))
        if not right.form_submit_button(say("readings.add_position")):
            return
    with told():
        type_coil(desk(), job, place, text, _terms(job, taken), occasion=occasion)
        again()


def _terms(job: Job, taken: list[Reading]) -> Coil:
    before = taken or [one for one in readings_of(desk(), job, "intake") if one.what == "coil"]
    coil = before[-1].coil if before else Coil()
    return replace(coil, state="steady", wanders_to="", tone="not swept", temperature_typed="", volume="full")


def _row(job: Job, reading: Reading) -> None:
    coil, base = reading.coil, f"c-{reading.id}-{reading.version}"

    def keep(coil: Coil, text: str | None = None, note: str | None = None) -> None:
        type_coil(
            desk(),
            job,
            reading.place,
            reading.typed if text is None else text,
            coil,
            occasion=reading.occasion,
            note=reading.note if note is None else note,
        )

    def keep_field(field: str, value: object) -> None:
        keep(replace(coil, **{field: value}))

    def choose(label: str, field: str, options: tuple[str, ...]) -> None:
        key = f"{base}-{field}"

        def changed() -> None:
            with told():
                keep_field(field, st.session_state[key] or getattr(coil, field))

        st.pills(
            say(label),
            options,
            default=getattr(coil, field),
            format_func=lambda one: say(f"readings.{field}_{one.replace(' ', '_')}"),
            key=key,
            on_change=changed,
        )

    left, right = st.columns([1, 2], vertical_alignment="bottom")
    with left:
        st.markdown(f"**{plain(reading.place)}**")
        typed_field(
            say("readings.raw"), f"{base}-raw", reading.typed, lambda text: keep(coil, text),
            placeholder=say("readings.hint_resistance"),
        )  # fmt: skip
    with right:
        if coil.state == "wandering":
            typed_field(
                say("readings.wanders_to"), f"{base}-to", coil.wanders_to, partial(keep_field, "wanders_to"),
                placeholder=say("readings.wanders_hint"),
            )  # fmt: skip
    choose("readings.state", "state", STATES)
    if coil.state == "steady":
        choose("readings.volume", "volume", VOLUMES)
        choose("readings.tone", "tone", TONES)
    _comes_to(reading)
    with st.expander(say("readings.finer")):
        _finer(base, coil, reading, keep_field, keep)
    if st.button(say("readings.take_away", what=reading.place), key=f"x-{reading.id}"):
        with told():
            remove_reading(desk(), reading)
            taken_away(f"coils-{reading.occasion}", reading.id, reading.place)
            again()


def _comes_to(reading: Reading) -> None:
    if reading.corrected is not None:
        warm = any(part.name == "temperature" for part in reading.corrected.parts)
        code = "readings.corrected" if warm else "readings.corrected_warm"
        st.markdown(say(code, value=as_text(reading.corrected)))
    elif reading.measurement is not None and reading.coil.state == "steady":
        st.markdown(say("readings.raw_only", value=as_text(reading.measurement)))
    for code, values in sentences(reading):
        st.markdown(f"- {plain(say(code, **dict(values)))}")


def _finer(base: str, coil: Coil, reading: Reading, keep_field, keep) -> None:
    def number(label: str, field: str, low: float, high: float, step: float) -> None:
        key = f"{base}-{field}"

        def changed() -> None:
            with told():
                keep_field(field, st.session_state[key])

        value = getattr(coil, field)
        st.number_input(say(label), type(value)(low), type(value)(high), value, type(value)(step), key=key,
                        on_change=changed)  # fmt: skip

    a, b, c = st.columns(3)
    with a:
        typed_field(
            say("readings.control"), f"{base}-control", coil.control_typed, partial(keep_field, "control_typed"),
            placeholder=say("readings.control_hint"), help=say("readings.control_help"),
        )  # fmt: skip
        measured = f"{base}-measured"

        def changed() -> None:
            with told():
                keep_field("control_measured", st.session_state[measured])

        st.checkbox(say("readings.control_measured"), coil.control_measured, key=measured, on_change=changed)
        if not coil.control_measured:
            number("readings.control_tolerance", "control_tolerance_percent", 0, 50, 5)
        number("readings.controls", "controls", 1, 4, 1)
    with b:
        number("readings.meter_percent", "meter_percent", 0, 20, 0.1)
        number("readings.meter_digits", "meter_digits", 0, 50, 1)
        typed_field(
            say("readings.expected"), f"{base}-expected", coil.expected_typed, partial(keep_field, "expected_typed"),
            placeholder=say("readings.expected_hint"),
        )  # fmt: skip
    with c:
        typed_field(
            say("readings.coil_temperature"), f"{base}-temp", coil.temperature_typed,
            partial(keep_field, "temperature_typed"), placeholder=say("readings.coil_temperature_hint"),
        )  # fmt: skip
        number("readings.temperature_within", "temperature_within_c", 0, 15, 0.5)
        typed_field(say("readings.note"), f"{base}-note", reading.note, lambda text: keep(coil, note=text))
    if reading.corrected is not None and reading.corrected.parts:
        st.markdown(f"**{say('readings.parts')}**")
        budget_bars(reading.corrected)

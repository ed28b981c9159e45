"""The air of the room, and the setup: action, relief and nut slots where the picture shows them."""

from __future__ import annotations

import hashlib
from functools import partial

import streamlit as st

from condition.flow.readings import readings_of, type_reading
from condition.flow.strings import strings_across
from condition.pages.frame import desk, picture
from condition.pages.typed_field import typed_field
from condition.records.job import Job
from condition.records.measurement import as_text
from condition.records.reading import Occasion, Reading, What
from condition.words import say

ACTION_FRET, RELIEF_FRET = 12, 7
FRETS = tuple(range(1, 25))


def air(job: Job, occasion: Occasion) -> None:
    known = by_spot(job, occasion)
    left, right = st.columns(2)
    with left:
        reading_field(job, occasion, known, "humidity", say("readings.humidity"))
    with right:
        reading_field(job, occasion, known, "temperature", say("readings.temperature"))


def setup(job: Job, occasion: Occasion) -> None:
    known = by_spot(job, occasion)
    st.markdown(say("readings.setup_words"))
    st.markdown(picture(_address(job, occasion), say("readings.picture")))
    strings = strings_across(desk(), job, occasion)
    fret = _fret(known, "action", ACTION_FRET)
    st.markdown(f"**{say('readings.action_at', fret=fret)}**")
    for column, string in zip(st.columns(max(1, len(strings))), strings, strict=False):
        with column:
            label = say("readings.string", number=string.number, note=string.note)
            reading_field(job, occasion, known, "action", label, string=string.number, fret=fret)
    fret = _fret(known, "relief", RELIEF_FRET)
    left, _ = st.columns([1, 2])
    with left:
        reading_field(job, occasion, known, "relief", say("readings.relief", fret=fret), fret=fret)
    st.markdown(f"**{say('readings.nut_slots')}**")
    for column, string in zip(st.columns(max(1, len(strings))), strings, strict=False):
        with column:
            label = say("readings.string", number=string.number, note=string.note)
            reading_field(job, occasion, known, "nut slot", label, string=string.number, fret=0)
    finer(job, known, ("action", "relief", "nut slot"))


def _fret(known: Spots, what: What, usual: int) -> int:
    """Let the person choose the fret; where something was read already, that one comes first."""
    read = [fret for kind, _, fret in known if kind == what and fret]
    frets = sorted({*FRETS, *read})
    first = usual if usual in read or not read else read[0]
    name = say(f"readings.what_{what}").lower()
    return st.selectbox(
        say("readings.at_which_fret", what=name), frets, frets.index(first), key=f"fret-{what}", width=220
    )


Spots = dict[tuple[What, int | None, int | None], Reading]


def by_spot(job: Job, occasion: Occasion) -> Spots:
    return {(one.what, one.string, one.fret): one for one in readings_of(desk(), job, occasion) if one.what != "coil"}


def reading_field(
    job: Job,
    occasion: Occasion,
    known: Spots,
    what: What,
    label: str,
    *,
    string: int | None = None,
    fret: int | None = None,
) -> None:
    """A field for one reading; an emptied field takes it away."""
    reading = known.get((what, string, fret))
    key = f"r-{job.id}-{occasion}-{what}-{string}-{fret}-{reading.version if reading else 0}"
    keep = partial(type_reading, desk(), job, what, occasion=occasion, string=string, fret=fret)
    shown = as_text(reading.measurement) if reading and reading.measurement else " "
    typed_field(label, key, reading.typed if reading else "", keep, placeholder=say(f"readings.hint_{_hint(what)}"))
    st.caption(shown)


def _hint(what: What) -> str:
    return what if what in ("humidity", "temperature", "weight") else "length"


def finer(job: Job, known: Spots, kinds: tuple[What, ...]) -> None:
    """Folded away: how well each kind was read, and in which way."""
    taken = [what for what in kinds if any(key[0] == what for key in known)]
    if not taken:
        return
    with st.expander(say("readings.finer")):
        for what in taken:
            those = [reading for key, reading in known.items() if key[0] == what]
            first, versions = those[0], "-".join(str(reading.version) for reading in those)
            st.markdown(f"**{say(f'readings.what_{what}'.replace(' ', '_'))}**")
            left, middle, right = st.columns(3)
            with left:
                tools = ("gauge", "calliper", "rule", "meter")
                st.selectbox(
                    say("readings.tool"),
                    tools,
                    tools.index(first.tool) if first.tool in tools else 0,
                    format_func=lambda tool: say(f"source.{tool}"),
                    key=(key := f"tool-{first.id}-{versions}"),
                    on_change=lambda those=those, key=key: _all(job, those, tool=st.session_state[key]),
                )
            with middle:
                typed_field(
                    say("readings.within"),
                    f"within-{first.id}-{versions}",
                    first.within_typed,
                    lambda text, those=those: _all(job, those, within_typed=text),
                    placeholder=say("readings.within_hint"),
                )
            with right:
                typed_field(
                    say("readings.how"),
                    f"how-{first.id}-{versions}",
                    first.how,
                    lambda text, those=those: _all(job, those, how=text),
                    placeholder=say("readings.how_hint"),
                )


def _all(job: Job, those: list[Reading], **fields: object) -> None:
    for reading in those:
        type_reading(
            desk(),
            job,
            reading.what,
            reading.typed,
            occasion=reading.occasion,
            string=reading.string,
            fret=reading.fret,
            place=reading.place,
            **fields,
        )


def _address(job: Job, occasion: Occasion) -> str:
    """The picture's address with a mark that changes with what it shows."""
    told = "|".join(f"{r.what}{r.string}{r.fret}{r.typed}" for r in readings_of(desk(), job, occasion))
    told += "|".join(f"{s.number}{s.note}" for s in strings_across(desk(), job, occasion))
    return f"/bench/fretboard/{job.id}/{occasion}.svg?{hashlib.sha256(told.encode()).hexdigest()[:12]}"

"""Before and after side by side."""

from __future__ import annotations

import streamlit as st

from condition.pages.frame import plain
from condition.records.bench_sheet import BenchSheet, Row, TriedPair
from condition.records.measurement import as_text
from condition.records.reading import Reading
from condition.words import say, say_n


def side_by_side(sheet: BenchSheet) -> None:
    """A table of what was read and tried on both occasions, with what can be said of the difference."""
    st.markdown(f"### {say('readings.side_by_side')}")
    st.caption(say("readings.changed_when"))
    lines = [say("readings.side_head"), "|---|---|---|---|---|"]
    lines += [_line(row) for row in sheet.rows]
    told, worked = sheet.tried_alike
    lines += [_tried(pair) for pair in told]
    if worked:
        names = ", ".join(pair.item for pair in worked)
        works = say("function_test.works")
        after = works if any(pair.after for pair in worked) else "–"
        lines.append(f"| {plain(names)} | {works} | {after} | | |")
    st.markdown("\n".join(lines))


def _tried(pair: TriedPair) -> str:
    words = [say(f"function_test.{t.result}".replace(" ", "_")) if t else "–" for t in (pair.before, pair.after)]
    notes = [t.note for t in (pair.before, pair.after) if t and t.note]
    return f"| {plain(pair.item)} | {words[0]} | {words[1]} | | {plain('; '.join(notes))} |"


def name_of(row: Row) -> str:
    """Return such as ``Action, string 1, fret 12`` or ``Fret height, frets 1, 5, 7``."""
    first = row[0]
    parts = [say(f"readings.what_{first.what.replace(' ', '_')}")]
    if first.place:
        parts.append(first.place)
    strings = list(dict.fromkeys(pair.string for pair in row if pair.string is not None))
    frets = list(dict.fromkeys(pair.fret for pair in row if pair.fret))
    if strings:
        parts.append(say_n("readings.at_strings", len(strings), numbers=", ".join(map(str, strings))))
    if frets:
        parts.append(say_n("readings.at_frets", len(frets), frets=", ".join(map(str, frets))))
    return ", ".join(parts)


def value_of(reading: Reading | None) -> str:
    if reading is None:
        return "–"
    if reading.coil is not None:
        state = say(f"readings.state_{reading.coil.state.replace(' ', '_')}")
        to = say("readings.to", end=reading.coil.wanders_to) if reading.coil.wanders_to else ""
        return " ".join(part for part in (reading.typed, state, to) if part)
    return reading.typed


def _values(row: Row, side: str) -> str:
    return " · ".join(value_of(getattr(pair, side)) for pair in row if getattr(pair, side)) or "–"


def _line(row: Row) -> str:
    pair = row[0]
    difference = " · ".join(dict.fromkeys(as_text(one.difference) for one in row if one.difference))
    unlike = "; ".join(say(code, **dict(values)) for code, values in pair.unlike)
    verdict = "" if pair.verdict == "condition" else say(f"before_after.{pair.verdict.replace(' ', '_')}")
    told = f"{verdict}: {unlike}" if unlike and pair.verdict in ("unlike", "open", "state") else verdict
    cells = (name_of(row), _values(row, "before"), _values(row, "after"), difference, told)
    return f"| {' | '.join(plain(cell) for cell in cells)} |"

"""Stamps and codes: what was read decodes to what, or it was left unread and why."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime

from condition.errors import Refused
from condition.flow.desk import Desk, new_id, utc_now
from condition.records.instrument import Instrument
from condition.records.job import Job
from condition.records.stamp import Stamp, StampKind
from condition.trade.colour_bands import Marked, film, moulded_paper, resistor
from condition.trade.printed_codes import off_series, printed_capacitor, printed_resistor
from condition.trade.source_date import SourceDate, fit_with, source_date, week_span

KINDS: tuple[StampKind, ...] = (
    "source date", "resistor bands", "moulded paper bands", "film bands", "resistor print", "capacitor print", "words",
)  # fmt: skip
Told = tuple[str, tuple[tuple[str, str], ...]]
_DECODERS = {
    "resistor bands": resistor,
    "moulded paper bands": moulded_paper,
    "film bands": film,
    "resistor print": printed_resistor,
    "capacitor print": printed_capacitor,
}


@dataclass(frozen=True, slots=True)
class Decoded:
    """What a text comes to: ``headline`` first, then what to know besides and how it stands to the claimed year; all
    as catalogue codes. ``refused``: the text is no such code, and the headline says why."""

    headline: Told
    besides: tuple[Told, ...] = ()
    claims: tuple[Told, ...] = ()
    refused: bool = False


def stamps_of(desk: Desk, job: Job) -> tuple[Stamp, ...]:
    return desk.store.find(Stamp, job_id=job.id)


def note_stamp(desk: Desk, job: Job, part: str, kind: StampKind, typed: str = "", **fields: object) -> Stamp:
    """Note a stamp or code as read; text that is no such code is kept all the same, with the reason beside it."""
    stamp = Stamp(new_id(), job.id, part.strip(), kind, typed.strip(), read_by=job.examiner, read_at=utc_now())
    return keep_stamp(desk, replace(stamp, **fields))


def keep_stamp(desk: Desk, stamp: Stamp) -> Stamp:
    """Keep a stamp as edited.

    Raises
    ------
    Refused
        ``codes.no_part``: on what it stands is not said. ``codes.no_reason``: left unread without saying why.
    """
    if not stamp.part.strip():
        raise Refused("codes.no_part")
    if stamp.left_unread and not stamp.reason.strip():
        raise Refused("codes.no_reason")
    with desk.store.write(new_id(), desk.person) as work:
        if stamp == work.one(Stamp, id=stamp.id):
            return stamp
        return work.put(stamp)


def remove_stamp(desk: Desk, stamp: Stamp) -> None:
    with desk.store.write(new_id(), desk.person) as work:
        work.remove(work.get(Stamp, stamp.id))


def decoded_for(desk: Desk, job: Job, stamp: Stamp) -> Decoded | None:
    """Return what a stamp comes to beside the instrument's claimed year; None when there is nothing to decode."""
    return decoded(stamp, desk.store.get(Instrument, job.instrument_id).claimed_year)


def decoded(stamp: Stamp, claimed_year: str = "") -> Decoded | None:
    """Return what a stamp comes to; None for words, for nothing typed, and for what was left unread."""
    if stamp.left_unread or not stamp.typed.strip() or stamp.kind == "words":
        return None
    try:
        if stamp.kind == "source date":
            return _dated(source_date(stamp.typed, datetime.now(UTC).year), claimed_year)
        return _valued(_DECODERS[stamp.kind](stamp.typed))
    except Refused as refusal:
        return Decoded(refusal.told, refused=True)


def meanings(text: str, claimed_year: str = "") -> tuple[tuple[StampKind, Decoded], ...]:
    """Return every kind of code a text can be, with what it comes to as that.

    Raises
    ------
    Refused
        ``codes.no_kind``: it is none of them.
    """
    tried = ((kind, decoded(Stamp("", "", kind=kind, typed=text), claimed_year)) for kind in KINDS)
    found = tuple((kind, one) for kind, one in tried if one is not None and not one.refused)
    if not found:
        raise Refused("codes.no_kind", text=text)
    return found


def _texts(values: dict[str, object]) -> tuple[tuple[str, str], ...]:
    return tuple((name, str(value)) for name, value in values.items())


def _dated(found: SourceDate, claimed_year: str) -> Decoded:
    years = ", ".join(map(str, found.years))
    values = _texts({"source": found.source_code, "maker": found.maker, "week": found.week, "years": years})
    headline = "codes.dated" if found.maker else "codes.dated_unknown"
    besides: list[Told] = []
    if found.decade_open:
        besides.append(("codes.decade_open", (("years", years),)))
    else:
        first, last = week_span(found.years[0], found.week)
        besides.append(("codes.span", _texts({"first": first.isoformat(), "last": last.isoformat()})))
    if found.doubtful_week:
        besides.append(("codes.week_53", ()))
    fit = fit_with(found.years, claimed_year)
    besides.append(("codes.not_before", ()))
    claims = (f"codes.fit_{fit.replace(' ', '_')}", _texts({"claim": claimed_year}))
    return Decoded((headline, values), tuple(besides), (claims,))


def _valued(marked: Marked) -> Decoded:
    values = {"value": value_text(marked), "tolerance": tolerance_text(marked.tolerance_percent)}
    besides = list(marked.notes)
    if marked.volts is not None:
        besides.insert(0, ("codes.volts", (("volts", f"{marked.volts:g}"),)))
    if marked.tempco_ppm_per_k is not None:
        besides.insert(0, ("codes.tempco", (("ppm", f"{marked.tempco_ppm_per_k:g}"),)))
    if marked.value and not any(code == "codes.off_series" for code, _ in besides):
        besides += off_series(marked.value)
    besides.append(("codes.by", (("source", marked.source.rstrip(".")),)))
    return Decoded(("codes.value" if values["tolerance"] else "codes.value_only", _texts(values)), tuple(besides))


def value_text(marked: Marked) -> str:
    """Return such as ``4.7 kΩ`` or ``47 nF (0.047 µF)``: old parts are spoken of in microfarads."""
    value = marked.value
    if marked.unit == "ohm":
        for factor, unit in ((1e6, "MΩ"), (1e3, "kΩ")):
            if value >= factor:
                return f"{value / factor:.6g} {unit}"
        return f"{value:.6g} Ω"
    if value < 1000:
        return f"{value:.6g} pF"
    micro = f"{value / 1e6:.6g} µF"
    return micro if value >= 1e6 else f"{value / 1000:.6g} nF ({micro})"


def tolerance_text(percent: tuple[float, float] | None) -> str:
    if percent is None:
        return ""
    minus, plus = percent
    return f"± {plus:.3g} %" if minus == plus else f"−{minus:g}/+{plus:g} %"

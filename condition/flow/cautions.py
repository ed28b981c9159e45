"""Cautions beside the thing that needs them: a finding, a part, a step, a treatment."""

from __future__ import annotations

from condition.records.finding import Finding
from condition.records.instrument import Instrument
from condition.records.part import Part
from condition.records.strip_down import StripDownStep
from condition.trade.cautions import Caution, cautions_for

__all__ = ["Caution", "for_finding", "for_part", "for_step", "for_treatment"]


def for_finding(finding: Finding, instrument: Instrument | None = None) -> tuple[Caution, ...]:
    """Return the cautions of a finding's kind, and of materials its words name; titles are ``caution.title CODE``,
    sentences ``caution.CODE``, and ``caution.who decides`` goes with them.

    Parameters
    ----------
    instrument : given, the materials suspected in it count where the finding's words name them too
    """
    words = f"{finding.place} {finding.observation} {finding.interpretation}"
    found = cautions_for(findings=finding.kind, materials=words)
    if instrument is None:
        return found
    known = cautions_for(materials=instrument.materials)
    touched = cautions_for(materials=words, treatments=words)
    codes = {caution.code for caution in found}
    return (*found, *(caution for caution in touched if caution in known and caution.code not in codes))


def for_part(part: Part) -> tuple[Caution, ...]:
    """Return the cautions of a part of the list, by its entry and by what it is, or may be, made of."""
    if part.place == "not there":
        return ()
    return cautions_for(parts=(part.code, part.name), materials=(part.material, part.observation))


def for_step(step: StripDownStep | str, parts: tuple[Part, ...] = ()) -> tuple[Caution, ...]:
    """Return the cautions of a step of the strip-down (or of words typed for one), and of the parts it takes off."""
    words = step if isinstance(step, str) else f"{step.what} {step.wires} {step.fragments}"
    return cautions_for(steps=words, parts=[part.code for part in parts], materials=[part.material for part in parts])


def for_treatment(words: str, finding: Finding | None = None, instrument: Instrument | None = None):
    """Return the cautions of a treatment as it is worded (``sand flush``, ``send out to the winder``).

    Parameters
    ----------
    finding : what it treats; its kind counts unless it is left alone
    instrument : given, work that sends it out or crosses a border is held against its suspected materials
    """
    told: dict[str, str] = {"treatments": words}
    if finding is not None and finding.decision not in ("", "leave", "left undisturbed"):
        told["findings"] = finding.kind
    found = cautions_for(**told)
    if instrument is None:
        return found
    suspected = {caution.code for caution in cautions_for(materials=instrument.materials)}
    return tuple(caution for caution in found if not caution.code.endswith("borders") or caution.code in suspected)

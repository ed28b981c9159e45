"""What a condition report is compiled from: the job with everything measured, ready to be set."""

from __future__ import annotations

from dataclasses import dataclass

from condition.records.finding import Finding
from condition.records.instrument import Instrument
from condition.records.job import Job
from condition.records.mark import Mark
from condition.records.measurement import Measurement
from condition.records.part import Evidence, Part
from condition.records.person import Person
from condition.records.photo import Photo
from condition.records.shapes import Ring, Shape
from condition.records.strip_down import Bag, StripDownStep
from condition.records.treatment import PlanEntry
from condition.records.view import View


@dataclass(frozen=True, slots=True)
class MeasuredMark:
    """A mark (with its measurements); ``shape_mm`` in its view's frame when the photo is placed on it."""

    mark: Mark
    shape_mm: Shape | None = None


@dataclass(frozen=True, slots=True)
class FindingEntry:
    """A finding with its marks and the measurements to print, the one that counts first."""

    finding: Finding
    marks: tuple[MeasuredMark, ...] = ()
    measurements: tuple[Measurement, ...] = ()


@dataclass(frozen=True, slots=True)
class ViewEntry:
    """A face with its outline in millimetres (view frame) and its area."""

    view: View
    outline_mm: Ring | None = None
    area: Measurement | None = None


@dataclass(frozen=True, slots=True)
class ConditionSheet:
    """One job as the report shows it. ``compiled_at`` is UTC ISO 8601 with Z; findings are in number order."""

    job: Job
    instrument: Instrument
    client: Person | None
    photos: tuple[Photo, ...]
    views: tuple[ViewEntry, ...]
    findings: tuple[FindingEntry, ...]
    compiled_at: str
    plan: tuple[PlanEntry, ...] = ()
    parts: tuple[Part, ...] = ()
    evidence: tuple[Evidence, ...] = ()
    bags: tuple[Bag, ...] = ()
    strip_down: tuple[StripDownStep, ...] = ()

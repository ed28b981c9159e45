"""What a condition report is compiled from: the job with everything measured, ready to be set."""

from __future__ import annotations

from dataclasses import dataclass

from condition.records.bench_sheet import NOTHING_FROM_THE_BENCH, BenchSheet
from condition.records.finding import Finding
from condition.records.instrument import Instrument
from condition.records.job import Job
from condition.records.mark import Mark
from condition.records.measurement import Measurement
from condition.records.part import Evidence, Part
from condition.records.person import Person
from condition.records.photo import Photo
from condition.records.reader import PaperFace
from condition.records.return_sheet import ReturnEntry
from condition.records.shapes import Ring, Shape
from condition.records.strip_down import Bag, StripDownStep
from condition.records.treatment import PlanEntry
from condition.records.view import View


@dataclass(frozen=True, slots=True)
class MeasuredMark:
    """A mark (with its measurements); ``shape_mm`` in its face's frame when the photo is placed on it.

    view_id : the face that ``shape_mm`` lies on; None where it is the finding's
    again : the same thing is marked on another photo that comes first; the map draws this one thin
    """

    mark: Mark
    shape_mm: Shape | None = None
    view_id: str | None = None
    again: bool = False


@dataclass(frozen=True, slots=True)
class FindingEntry:
    """A finding with its marks and the measurements to print, the one that counts first."""

    finding: Finding
    marks: tuple[MeasuredMark, ...] = ()
    measurements: tuple[Measurement, ...] = ()


@dataclass(frozen=True, slots=True)
class ViewEntry:
    """A face with its outline in millimetres (view frame) and its area.

    placed : the photos beside the base photo whose marks lie on it, with the rms of their place in mm
    """

    view: View
    outline_mm: Ring | None = None
    area: Measurement | None = None
    placed: tuple[tuple[Photo, float | None], ...] = ()


@dataclass(frozen=True, slots=True)
class ConditionSheet:
    """One job as the report shows it. ``compiled_at`` is UTC ISO 8601 with Z; findings are in number order.

    face : whom the paper is for and what it leaves out; None where nothing is left out
    """

    job: Job
    instrument: Instrument
    client: Person | None
    photos: tuple[Photo, ...]
    views: tuple[ViewEntry, ...]
    findings: tuple[FindingEntry, ...]
    compiled_at: str
    face: PaperFace | None = None
    plan: tuple[PlanEntry, ...] = ()
    parts: tuple[Part, ...] = ()
    evidence: tuple[Evidence, ...] = ()
    bags: tuple[Bag, ...] = ()
    strip_down: tuple[StripDownStep, ...] = ()
    returns: tuple[ReturnEntry, ...] = ()
    bench: BenchSheet = NOTHING_FROM_THE_BENCH

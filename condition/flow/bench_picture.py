"""The fingerboard's picture for the pages."""

from __future__ import annotations

from condition.flow.desk import Desk
from condition.flow.readings import readings_of
from condition.flow.strings import strings_at
from condition.records.instrument import Instrument
from condition.records.job import Job
from condition.records.reading import Occasion


def fretboard_picture(desk: Desk, job: Job, occasion: Occasion, width_px: int) -> str:
    """Return the board with what was read on an occasion, as SVG."""
    from condition.report.fretboard import fretboard_svg, written_once

    return fretboard_svg(
        strings_at(desk, job, occasion).strings,
        written_once(readings_of(desk, job, occasion)),
        width_px,
        desk.store.get(Instrument, job.instrument_id).handedness,
    )

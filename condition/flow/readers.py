"""The paper for each reader: what it holds, what it leaves out, and what was chosen otherwise for a job."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from condition.errors import Refused
from condition.flow.desk import Desk, new_id
from condition.flow.pixels import pixels_of
from condition.flow.sheets import whole_sheet
from condition.flow.whole_files import written_whole
from condition.flow.withholding import secrets_of, without
from condition.records.job import Job
from condition.records.reader import READERS, WITHHELD, PaperChoice, PaperFace, Reader, Withheld
from condition.report.document import SECTIONS, compile_pdf

EVERYTHING = tuple(SECTIONS)


@dataclass(frozen=True, slots=True)
class Usual:
    """What a reader's paper usually holds and leaves out."""

    sections: tuple[str, ...]
    withheld: tuple[Withheld, ...] = ()


def _those(*wanted: str) -> tuple[str, ...]:
    return tuple(name for name in wanted if name in SECTIONS)


USUAL: dict[Reader, Usual] = {
    "record": Usual(EVERYTHING),
    "client": Usual(
        _those(
            "title", "client_summary", "before_after", "maps", "findings", "parts", "readings", "function_test",
            "faults", "codes", "plan", "strip_down", "cautions", "photos", "limits", "signatures",
        )
    ),
    "insurer": Usual(
        _those(
            "title", "before_after", "maps", "findings", "parts", "codes", "readings", "photos", "method", "limits",
            "hashes", "signatures",
        ),
        ("prices",),
    ),
    "specialist": Usual(
        _those(
            "title", "maps", "findings", "parts", "readings", "function_test", "faults", "codes", "plan", "strip_down",
            "cautions", "photos", "method", "limits",
        ),
        ("prices", "values", "addresses"),
    ),
    "buyer": Usual(
        _those(
            "title", "maps", "findings", "parts", "codes", "readings", "before_after", "photos", "method", "limits",
            "hashes",
        ),
        ("prices", "values", "names", "addresses", "request"),
    ),
    "public": Usual(_those("title", "before_after", "photos"), WITHHELD),
}  # fmt: skip


def choice_of(desk: Desk, job: Job, reader: Reader) -> PaperChoice:
    """Return what a job's paper for this reader holds: as chosen, or the usual (then its version is 0).

    Raises
    ------
    Refused
        ``reader.unknown``
    """
    if reader not in READERS:
        raise Refused("reader.unknown", reader=reader, known=", ".join(READERS))
    kept = desk.store.one(PaperChoice, job_id=job.id, reader=reader)
    usual = USUAL[reader]
    return kept or PaperChoice(new_id(), job.id, reader, usual.sections, usual.withheld)


def choose_paper(desk: Desk, choice: PaperChoice, sections: Sequence[str], withheld: Sequence[Withheld]) -> PaperChoice:
    """Keep what a paper shall hold; sections stand in the report's own order.

    Raises
    ------
    Refused
        ``reader.no_section``: nothing would be left; ``reader.unknown_section``
    """
    unknown = [name for name in sections if name not in SECTIONS]
    if unknown:
        raise Refused("reader.unknown_section", section=unknown[0], known=", ".join(SECTIONS))
    if not sections:
        raise Refused("reader.no_section")
    usual = USUAL[choice.reader].sections
    order = [*usual, *(name for name in SECTIONS if name not in usual)]
    chosen = PaperChoice(
        choice.id,
        choice.job_id,
        choice.reader,
        tuple(name for name in order if name in sections),
        tuple(one for one in WITHHELD if one in withheld),
        choice.version,
    )
    with desk.store.write(new_id(), desk.person) as work:
        return chosen if chosen == choice and choice.version else work.put(chosen)


def as_usual(desk: Desk, choice: PaperChoice) -> None:
    """Forget what was chosen otherwise."""
    if choice.version:
        with desk.store.write(new_id(), desk.person) as work:
            work.remove(work.get(PaperChoice, choice.id))


def paper_for(desk: Desk, job: Job, reader: Reader, out: Path) -> Path:
    """Write the paper for one reader as a PDF, whole or not at all."""
    choice = choice_of(desk, job, reader)
    sheet = whole_sheet(desk, job)
    originals = {photo.id: photo for photo in sheet.photos}
    seen = without(sheet, PaperFace(reader, choice.withheld), secrets_of(desk, job, choice.withheld))
    return written_whole(
        out,
        lambda part: compile_pdf(
            seen,
            photo_pixels=lambda photo: pixels_of(desk, originals[photo.id]),
            out=part,
            sections=choice.sections,
        ),
    )


def paper_path(desk: Desk, job: Job, reader: Reader) -> Path:
    """Return where the pages keep the latest paper for a reader."""
    return desk.store.folder / "papers" / (f"{job.id}.pdf" if reader == "record" else f"{job.id}-{reader}.pdf")

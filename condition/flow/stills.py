"""Stills from a bench video: the frames worth keeping come into the job as photos, with their time in the video."""

from __future__ import annotations

import shutil
import tempfile
import threading
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from condition.errors import ConditionError, Refused
from condition.flow.desk import Desk, new_id
from condition.flow.intake import ARRIVING, take_in
from condition.flow.photos import arrange
from condition.flow.pool import WorkerFailed, shared
from condition.imaging.stills import MOST, Still, stills_of
from condition.records.job import Job
from condition.records.photo import Occasion, Photo
from condition.words import say

SECONDS_A_VIDEO = 900.0
FILE_LIMIT_BYTES = 4_000_000_000
USUAL_COUNT = 6


@dataclass(frozen=True, slots=True)
class StillTaken:
    """One still that became a photo of the job; ``seconds`` from the video's beginning, ``cards`` the ids it shows."""

    photo: Photo
    seconds: float
    cards: tuple[int, ...]
    already_here: bool = False


def take_stills(
    desk: Desk,
    job: Job,
    name: str,
    source: Path,
    *,
    moments_s: Sequence[float] = (),
    most: int = USUAL_COUNT,
    view_id: str | None = None,
    occasion: Occasion = "intake",
) -> tuple[StillTaken, ...]:
    """Take the best frames of a video file in as photos.

    Parameters
    ----------
    name : the video's file name, as the photos' captions tell it
    moments_s : times in the video whose sharpest frame nearby is wanted; without them the sharpest frames of all of it
    most : how many, when no moments are given

    Raises
    ------
    Refused
        ``stills.*``: the file is no video that can be read, or too long or too large.
    """
    source = Path(source)
    if not source.is_file():
        raise Refused("stills.not_found", file=name)
    if source.stat().st_size > FILE_LIMIT_BYTES:
        raise Refused("stills.too_heavy", file=name, limit=FILE_LIMIT_BYTES // 1_000_000_000)
    if not 1 <= most <= MOST or any(at < 0 for at in moments_s):
        raise Refused("stills.how_many", most=MOST)
    arriving = desk.store.folder / ARRIVING
    arriving.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory(dir=arriving) as folder:
        stills = _found(source, name, folder, most, tuple(moments_s))
        taken = take_in(
            desk, job, [(_file_name(name, one), Path(one.path)) for one in stills], view_id=view_id, occasion=occasion
        )
    kept = []
    for still, one in zip(stills, taken, strict=True):
        if one.error is not None:
            raise one.error
        photo = one.photo if one.already_here else _described(desk, one.photo, name, still)
        kept.append(StillTaken(photo, still.seconds, still.cards, one.already_here))
    return tuple(kept)


def clock(seconds: float) -> str:
    """Return a time in a video as minutes and seconds, such as 1:04.2."""
    tenths = round(seconds * 10)
    return f"{tenths // 600}:{tenths % 600 // 10:02d}.{tenths % 10}"


def moments(text: str) -> tuple[float, ...]:
    """Return the times that a person wrote, such as ``0:12, 1:04.5`` or ``75``, in seconds.

    Raises
    ------
    Refused
        ``stills.bad_moment``
    """
    found = []
    for word in text.replace(";", ",").replace(" ", ",").split(","):
        if not word:
            continue
        try:
            parts = [float(part) for part in word.split(":")]
        except ValueError as error:
            raise Refused("stills.bad_moment", given=word) from error
        if len(parts) > 3 or any(not 0 <= part < 1e5 for part in parts):
            raise Refused("stills.bad_moment", given=word)
        found.append(sum(part * 60**k for k, part in enumerate(reversed(parts))))
    return tuple(found)


def _found(source: Path, name: str, folder: str, most: int, moments_s: tuple[float, ...]) -> tuple[Still, ...]:
    asked = shared().submit(stills_of, str(source), name, folder, most, moments_s, seconds=SECONDS_A_VIDEO, file=name)
    try:
        return asked.result()
    except Refused as refusal:
        if refusal.code in ("photo.too_slow", "photo.worker_died", "photo.no_memory"):
            raise Refused("stills.too_much", file=name) from refusal
        raise


def _file_name(name: str, still: Still) -> str:
    return f"{Path(name).stem} {clock(still.seconds).replace(':', 'm')}s.jpg"


def _described(desk: Desk, photo: Photo, name: str, still: Still) -> Photo:
    """Give a still its caption, and the time it was taken when the video tells when it was begun."""
    facts: dict[str, object] = {"caption": say("stills.caption", file=name, at=clock(still.seconds))}
    if still.begun_at:
        when = datetime.fromisoformat(still.begun_at) + timedelta(seconds=still.seconds)
        facts.update(taken=when.strftime("%Y-%m-%d %H:%M:%S"), taken_offset="+00:00")
    advice = tuple(line for line in photo.advice if not (facts.get("taken") and line[0] == "photo.no_date"))
    return arrange(desk, photo, **facts, advice=advice)


# --- beside the page


@dataclass(frozen=True, slots=True)
class AtWork:
    """A video that is being looked at for a job, or what came of it."""

    file_name: str
    done: bool = False
    taken: tuple[StillTaken, ...] = ()
    error: ConditionError | None = None


_at_work: dict[str, AtWork] = {}
_lock = threading.Lock()


def begin_stills(desk: Desk, job: Job, name: str, video: Path, **wanted: object) -> None:
    """Begin to take stills from a video, which is removed when that is done; :func:`stills_at_work` tells how it goes.

    wanted : as for :func:`take_stills`
    """
    with _lock:
        _at_work[job.id] = AtWork(name)

    def work() -> None:
        try:
            outcome = AtWork(name, True, take_stills(desk, job, name, video, **wanted))
        except ConditionError as error:
            outcome = AtWork(name, True, error=error)
        except WorkerFailed as defect:
            outcome = AtWork(name, True, error=Refused("intake.defect", file=name, why=str(defect).strip()))
        finally:
            video.unlink(missing_ok=True)
        with _lock:
            _at_work[job.id] = outcome

    threading.Thread(target=work, name="stills", daemon=True).start()


def stills_at_work(job: Job) -> AtWork | None:
    return _at_work.get(job.id)


def forget_stills(job: Job) -> None:
    """Forget what came of a video once it is read."""
    with _lock:
        _at_work.pop(job.id, None)


def kept_aside(desk: Desk, stream, name: str) -> Path:
    """Write an uploaded video to the disk and return where."""
    folder = desk.store.folder / ARRIVING
    folder.mkdir(exist_ok=True)
    path = folder / f"{new_id()}{Path(name).suffix[:8]}"
    with path.open("wb") as file:
        shutil.copyfileobj(stream, file)
    return path

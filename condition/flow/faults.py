"""Faults: heard when, tried what, likely what; and the same tried again on return."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from condition.errors import Refused
from condition.flow.attachments import attach, attachments_of
from condition.flow.desk import Desk, new_id, utc_now
from condition.records.attachment import Attachment
from condition.records.fault import Effect, Fault, FaultKind, FaultTry
from condition.records.job import Job

KINDS: tuple[FaultKind, ...] = (
    "squeal", "hum", "crackle", "cuts out", "no sound", "dead string", "buzz at a fret", "tuner slips", "other",
)  # fmt: skip
EFFECTS: tuple[Effect, ...] = ("not tried", "no change", "changes it", "starts it", "stops it")
RETESTS = ("not retested", "gone", "as before", "better", "worse")

_ELECTRIC = ("swap the cable", "tap the cover", "press the coil", "sweep the tone", "sweep the volume", "move the lead")
TRIES: dict[FaultKind, tuple[str, ...]] = {
    "squeal": ("tap the cover", "press the coil", "swap the cable", "turn away from the amplifier", "sweep the tone"),
    "hum": ("touch the strings", "swap the cable", "turn the instrument", "sweep the tone", "other socket"),
    "crackle": _ELECTRIC,
    "cuts out": _ELECTRIC,
    "no sound": ("swap the cable", "other socket", "sweep the volume", "move the lead", "press the coil"),
    "dead string": ("press behind the fret", "lift in the slot", "other string", "look at the slot"),
    "buzz at a fret": ("press behind the fret", "straightedge over three frets", "look at the relief", "other string"),
    "tuner slips": ("turn the screw", "hold the gear", "retune and wait"),
    "other": (),
}
"""What is usually tried for each (common practice); their words stand in ``faults.po``, own words may be added."""

SOUND_ENDINGS = (".wav", ".mp3", ".m4a", ".aac", ".ogg", ".oga", ".opus", ".flac", ".webm", ".mp4")
SOUND_TYPES = {
    "wav": "audio/wav",
    "mp3": "audio/mpeg",
    "mp4": "audio/mp4",
    "aac": "audio/aac",
    "ogg": "audio/ogg",
    "flac": "audio/flac",
    "webm": "audio/webm",
}


def faults_of(desk: Desk, job: Job) -> tuple[Fault, ...]:
    """Return the job's faults in the order they were noted."""
    return desk.store.find(Fault, job_id=job.id)


def note_fault(desk: Desk, job: Job, kind: FaultKind, **fields: object) -> Fault:
    """Note a fault, with what is usually tried for its kind laid out untried."""
    tries = tuple(FaultTry(what) for what in TRIES[kind])
    with desk.store.write(new_id(), desk.person) as work:
        return work.put(Fault(new_id(), job.id, kind, **{"tries": tries, "noted_at": utc_now(), **fields}))


def edit_fault(desk: Desk, fault: Fault) -> Fault:
    """Keep a fault as edited; a new kind lays out its own tests beside those that were tried already.

    Raises
    ------
    Stale
        It was changed elsewhere meanwhile.
    """
    with desk.store.write(new_id(), desk.person) as work:
        before = work.get(Fault, fault.id)
        if before == fault:
            return fault
        if before.kind != fault.kind:
            fault = replace(fault, tries=_laid_out(fault))
        if before.retest != fault.retest:
            fault = replace(fault, retested_at=utc_now() if fault.retest != "not retested" else "")
        return work.put(fault)


def _laid_out(fault: Fault) -> tuple[FaultTry, ...]:
    kept = tuple(one for one in fault.tries if one.effect != "not tried" or one.again != "not tried" or one.words)
    known = {one.what for one in kept}
    return (*kept, *(FaultTry(what) for what in TRIES[fault.kind] if what not in known))


def set_try(desk: Desk, fault: Fault, place: int, **fields: object) -> Fault:
    """Keep what came of one test of a fault; ``place`` counts from 0."""
    tries = (*fault.tries[:place], replace(fault.tries[place], **fields), *fault.tries[place + 1 :])
    return edit_fault(desk, replace(fault, tries=tries))


def add_try(desk: Desk, fault: Fault, what: str) -> Fault:
    """Add a test in own words.

    Raises
    ------
    Refused
        ``faults.no_try``
    """
    if not what.strip():
        raise Refused("faults.no_try")
    return edit_fault(desk, replace(fault, tries=(*fault.tries, FaultTry(what.strip()))))


def remove_fault(desk: Desk, fault: Fault) -> None:
    """Take a fault off the job; its sounds stay in the job's files, and it can be put back."""
    with desk.store.write(new_id(), desk.person) as work:
        work.remove(work.get(Fault, fault.id))


def retest_open(fault: Fault) -> tuple[str, ...]:
    """Tests that told something at intake and were not done again: the retest is to use the same ones."""
    return tuple(one.what for one in fault.tries if one.effect != "not tried" and one.again == "not tried")


def add_sound(desk: Desk, job: Job, fault: Fault, name: str, data: bytes | Path) -> Attachment:
    """Keep a sound with a fault, byte for byte.

    Raises
    ------
    Refused
        ``faults.no_sound``: the file is no sound this page can play; ``attachment.*``
    """
    kind = sound_kind(data[:64] if isinstance(data, bytes) else _head(data))
    if kind is None:
        raise Refused("faults.no_sound", file=name)
    kept = attach(desk, job, name, data, nature="sound", about=fault.id)
    if kept.media_type == SOUND_TYPES[kind]:
        return kept
    with desk.store.write(new_id(), desk.person) as work:
        return work.put(replace(kept, media_type=SOUND_TYPES[kind]))


def _head(path: Path) -> bytes:
    with path.open("rb") as file:
        return file.read(64)


def sounds_of(desk: Desk, job: Job, fault: Fault) -> tuple[Attachment, ...]:
    return tuple(file for file in attachments_of(desk, job, fault.id) if file.nature == "sound")


def sound_kind(head: bytes) -> str | None:
    """Tell a sound file by its first bytes, None when it is none that a browser plays."""
    if head[:4] == b"RIFF" and head[8:12] == b"WAVE":
        return "wav"
    if head[:3] == b"ID3" or (head[:1] == b"\xff" and len(head) > 1 and head[1] & 0xE6 in (0xE2, 0xE4, 0xE6)):
        return "mp3"
    if head[:1] == b"\xff" and len(head) > 1 and head[1] & 0xF6 == 0xF0:
        return "aac"
    if head[4:8] == b"ftyp":
        return "mp4"
    if head[:4] == b"\x1aE\xdf\xa3":
        return "webm"
    return {b"OggS": "ogg", b"fLaC": "flac"}.get(head[:4])

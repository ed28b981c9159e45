"""The sharpest frames of a bench video, one from each stretch of it: those that show size cards first."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np

from condition.errors import Refused
from condition.imaging.markers import find_cards
from condition.imaging.video_file import begun_at, container_of

LONGEST_S = 1800.0
LARGEST_SIDE_PX = 8192
STRETCHES = 60
"""A video is looked at in so many stretches of equal length; of each its sharpest frame is kept in mind."""
SHORTEST_STRETCH_S = 0.5
LOOKED_AT_A_SECOND = 8.0
"""Frames a second that are compared for sharpness; a hand-held camera hardly settles for less."""
SMALL_PX = 640
LOOKED_AT_FOR_CARDS = 24
AROUND_MOMENT_S = 0.6
KEPT_QUALITY = 97
MOST = 24
PROGRESS = "progress"
"""The file in the stills' folder that tells how much of the video has been looked through, 0 to 1."""
TOLD_EVERY_S = 0.5


@dataclass(frozen=True, slots=True)
class Still:
    """One frame of a video, kept as a picture.

    seconds : its time from the video's beginning
    sharpness : of its fine against its coarse detail, to compare frames of one video by
    cards : ids of the size cards it shows
    begun_at : when the video says it was begun, ISO 8601 UTC, empty when it does not
    """

    path: str
    seconds: float
    sharpness: float
    cards: tuple[int, ...] = ()
    begun_at: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class _Frame:
    seconds: float
    sharpness: float
    coded: np.ndarray


def stills_of(path: str, name: str, folder: str, most: int = 6, moments_s: Sequence[float] = ()) -> tuple[Still, ...]:
    """Write the best frames of a video into a folder as JPEGs, in the order of their times.

    Meanwhile a file there tells how far it is (:data:`PROGRESS`); whoever removes the folder stops the work.

    Parameters
    ----------
    most : how many at most, when no moments are given
    moments_s : times whose sharpest frame within 0.6 s is wanted, instead

    Raises
    ------
    Refused
        ``stills.unreadable``, ``stills.too_long``, ``stills.too_large``, ``stills.no_frame``, ``stills.stopped``
    """
    source = Path(path)
    if not container_of(source):
        raise Refused("stills.unreadable", file=name)
    frames = list(_best_frames(source, name, Path(folder), tuple(moments_s)))
    if not frames:
        raise Refused("stills.no_frame", file=name)
    chosen = [(frame, _cards(frame)) for frame in frames] if moments_s else _chosen(frames, min(most, MOST))
    begun = begun_at(source)
    told = begun.strftime("%Y-%m-%dT%H:%M:%SZ") if begun else ""
    stills = []
    for frame, cards in sorted(chosen, key=lambda one: one[0].seconds):
        out = Path(folder) / f"{frame.seconds:010.3f}.jpg"
        out.write_bytes(frame.coded.tobytes())
        stills.append(Still(str(out), frame.seconds, frame.sharpness, cards, told))
    return tuple(stills)


def _best_frames(path: Path, name: str, folder: Path, moments_s: tuple[float, ...]) -> Iterator[_Frame]:
    """Yield the sharpest frame of each stretch, or of each moment's surroundings, in one pass over the video."""
    os.environ["OPENCV_FFMPEG_CAPTURE_OPTIONS"] = "protocol_whitelist;file"
    video = cv2.VideoCapture(str(path), cv2.CAP_FFMPEG)
    try:
        rate, length = _read_facts(video, name)
        stretches = _stretches(length, moments_s)
        best: list[_Frame | None] = [None] * len(stretches)
        every = max(1, round(rate / LOOKED_AT_A_SECOND))
        number = -1
        told_at = 0.0
        while video.grab():
            number += 1
            clock = video.get(cv2.CAP_PROP_POS_MSEC) / 1000
            seconds = clock if clock > 0 else number / rate
            if seconds > LONGEST_S:
                raise Refused("stills.too_long", file=name, minutes=round(LONGEST_S / 60))
            if time.monotonic() > told_at + TOLD_EVERY_S:
                told_at = time.monotonic()
                _tell_share(folder, name, seconds / length)
            near = [k for k, (start, stop) in enumerate(stretches) if start <= seconds < stop]
            if not near or number % every:
                continue
            read, frame = video.retrieve()
            if not read or frame is None or frame.ndim != 3:
                continue
            sharp = _sharpness(frame)
            better = [k for k in near if best[k] is None or sharp > best[k].sharpness]
            if better:
                coded = cv2.imencode(".jpg", frame, (cv2.IMWRITE_JPEG_QUALITY, KEPT_QUALITY))[1]
                for k in better:
                    best[k] = _Frame(seconds, sharp, coded)
    finally:
        video.release()
    yield from {frame.seconds: frame for frame in best if frame is not None}.values()


def _tell_share(folder: Path, name: str, share: float) -> None:
    try:
        (folder / PROGRESS).write_text(f"{min(share, 1.0):.3f}")
    except FileNotFoundError as error:
        raise Refused("stills.stopped", file=name) from error


def _read_facts(video: cv2.VideoCapture, name: str) -> tuple[float, float]:
    """Frames a second and length in seconds, as the file says them, within what can be."""
    if not video.isOpened():
        raise Refused("stills.unreadable", file=name)
    width, height = video.get(cv2.CAP_PROP_FRAME_WIDTH), video.get(cv2.CAP_PROP_FRAME_HEIGHT)
    if not (0 < width <= LARGEST_SIDE_PX and 0 < height <= LARGEST_SIDE_PX):
        raise Refused("stills.too_large", file=name, side=LARGEST_SIDE_PX)
    rate, count = video.get(cv2.CAP_PROP_FPS), video.get(cv2.CAP_PROP_FRAME_COUNT)
    rate = rate if 0.5 <= rate <= 1000 else 25.0
    length = count / rate if count > 0 else LONGEST_S
    if length > LONGEST_S:
        raise Refused("stills.too_long", file=name, minutes=round(LONGEST_S / 60))
    return rate, length


def _stretches(length_s: float, moments_s: tuple[float, ...]) -> list[tuple[float, float]]:
    if moments_s:
        return [(at - AROUND_MOMENT_S, at + AROUND_MOMENT_S) for at in moments_s]
    each = max(SHORTEST_STRETCH_S, length_s / STRETCHES)
    count = max(1, int(np.ceil(length_s / each)))
    return [(k * each, (k + 1) * each if k < count - 1 else np.inf) for k in range(count)]


def _sharpness(bgr: np.ndarray) -> float:
    """Energy of the finest detail over that of the next coarser: it falls with any blur, whatever the picture shows."""
    factor = min(1.0, SMALL_PX / max(bgr.shape[:2]) * 2)
    grey = cv2.cvtColor(bgr, cv2.COLOR_BGR2GRAY)
    if factor < 1:
        grey = cv2.resize(grey, None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA)
    grey = grey.astype(np.float32)
    soft, softer = (cv2.GaussianBlur(grey, (0, 0), sigma) for sigma in (1.0, 2.5))
    fine, coarse = float(((grey - soft) ** 2).mean()), float(((soft - softer) ** 2).mean())
    return fine / (coarse + 4.0)


def _decoded(frame: _Frame) -> np.ndarray:
    return cv2.cvtColor(cv2.imdecode(frame.coded, cv2.IMREAD_COLOR), cv2.COLOR_BGR2RGB)


def _cards(frame: _Frame) -> tuple[int, ...]:
    return tuple(card.id for card in find_cards(_decoded(frame)) if not card.left_out)


def _chosen(frames: list[_Frame], most: int) -> list[tuple[_Frame, tuple[int, ...]]]:
    """The frames that show cards first, then the sharpest, apart in time so that they show different things."""
    sharpest = sorted(frames, key=lambda frame: -frame.sharpness)[:LOOKED_AT_FOR_CARDS]
    seen = [(frame, _cards(frame)) for frame in sharpest]
    seen.sort(key=lambda one: (not one[1], -one[0].sharpness))
    length = max(frame.seconds for frame in frames) - min(frame.seconds for frame in frames)
    gap = length / (2 * most)
    chosen: list[tuple[_Frame, tuple[int, ...]]] = []
    for frame, cards in seen:
        if len(chosen) < most and all(abs(frame.seconds - other.seconds) >= gap for other, _ in chosen):
            chosen.append((frame, cards))
    return chosen

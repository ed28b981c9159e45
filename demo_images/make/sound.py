"""Makes ``cuts_out.wav``: plucked strings whose signal breaks off, as the demonstration's pickup does.

A plucked string by Karplus and Strong (Computer Music Journal 7(2), 1983), 8 kHz, 8 bit, one channel.
"""

from __future__ import annotations

import wave
from pathlib import Path

import numpy as np

RATE = 8000
NOTES_HZ = (97.999, 146.832, 220.0, 329.628)
BREAKS_S = ((0.55, 0.72), (1.10, 1.16), (1.30, 1.62))


def plucked(hertz: float, seconds: float, noise: np.random.Generator) -> np.ndarray:
    delay = round(RATE / hertz)
    line = noise.uniform(-1, 1, delay)
    sound = np.empty(int(RATE * seconds))
    for k in range(len(sound)):
        sound[k] = line[k % delay]
        line[k % delay] = 0.498 * (line[k % delay] + line[(k + 1) % delay])
    return sound


def main() -> None:
    noise = np.random.default_rng(41)
    total = np.zeros(2 * RATE)
    for k, hertz in enumerate(NOTES_HZ):
        start = int(0.12 * k * RATE)
        total[start:] += plucked(hertz, 2 - start / RATE, noise)[: len(total) - start]
    total *= 0.8 / np.abs(total).max()
    for start, end in BREAKS_S:
        total[int(start * RATE) : int(end * RATE)] = 0.0
        total[int(end * RATE)] = 0.9
    with wave.open(str(Path(__file__).parent.parent / "cuts_out.wav"), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(1)
        out.setframerate(RATE)
        out.writeframes((128 + 127 * total.clip(-1, 1)).astype(np.uint8).tobytes())


if __name__ == "__main__":
    main()

"""What the tests of the pool have a worker do: each a way to behave well or badly."""

from __future__ import annotations

import errno
import os
import signal
import sys
import time
from pathlib import Path

from condition.errors import Damaged, Problem, Refused
from condition.records.plane import SizeCard


def twice(number: int) -> int:
    return 2 * number


def process_id() -> int:
    return os.getpid()


def busy(seconds: float) -> str:
    time.sleep(seconds)
    return "done"


def spin() -> None:
    while True:
        pass


def die() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def leave() -> None:
    os._exit(3)


def eat(count: int) -> int:
    return len(bytearray(count))


def size_of(path: str) -> tuple[int, int]:
    from condition.imaging.decode import decode

    photo = decode(Path(path).read_bytes(), name="a")
    return photo.width, photo.height


def fill_disk(path: str) -> None:
    raise OSError(errno.ENOSPC, "No space left on device", path)


def chat() -> str:
    print("a decoder that prints")
    os.write(1, b"and one that writes past Python")
    return "heard"


def refuse(name: str) -> None:
    raise Refused("photo.empty", file=name)


def damage() -> None:
    raise Damaged("store.unsound", (Problem("a", "b", (("c", "d"),)),), folder="x")


def fail() -> None:
    raise KeyError("a defect")


def card() -> tuple[SizeCard, ...]:
    return (SizeCard(3, ((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)), 0.1),)


class Bomb:
    """Unpickled, it would run a command: what a worker taken over by a hostile file might answer."""

    def __init__(self, mark: str) -> None:
        self.mark = mark

    def __reduce__(self) -> tuple:
        return (os.system, (f"touch {self.mark}",))


def bomb(mark: str) -> Bomb:
    return Bomb(mark)


def lambda_answer() -> object:
    return lambda: None


def loaded() -> list[str]:
    return sorted({"streamlit", "app", "__mp_main__"} & set(sys.modules))


def slow_file(path: str) -> str:
    time.sleep(60)
    return Path(path).name


def stay(*_: object) -> None:
    """Never answer, whatever is asked."""
    spin()


def fell(path: str, name: str, pixels: str) -> None:
    die()

"""The phone's door as the bench sees it: a program of its own, opened on the shop's network and shut again.

It runs ``python -m condition.door`` and ends with this program: the door watches the pipe it was started with.
"""

from __future__ import annotations

import atexit
import contextlib
import ipaddress
import socket
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.request
from dataclasses import dataclass
from pathlib import Path

from condition.errors import Refused

PORT = 8690
START_S = 30.0
_ELSEWHERE = "192.0.2.1"
"""An address of nobody's (RFC 5737): asking the way there sends nothing and tells which network card would be used."""

_ROOT = Path(__file__).resolve().parents[2]


@dataclass(frozen=True, slots=True)
class OpenDoor:
    """address, port : where the phone finds the door on the shop's own network"""

    address: str
    port: int
    process: subprocess.Popen

    def url(self, token: str = "") -> str:
        """Return the address with a token behind ``#``, which no server or log ever sees."""
        host = f"[{self.address}]" if ":" in self.address else self.address
        return f"http://{host}:{self.port}/" + (f"#{token}" if token else "")


_open: OpenDoor | None = None
_tokens: dict[str, str] = {}
_lock = threading.Lock()


def own_addresses() -> tuple[str, ...]:
    """Return this machine's addresses on its networks, the likeliest first; none when it has no network."""
    found = []
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe, contextlib.suppress(OSError):
        probe.connect((_ELSEWHERE, 9))
        found.append(probe.getsockname()[0])
    with contextlib.suppress(OSError):
        found += socket.gethostbyname_ex(socket.gethostname())[2]
    usable = [one for one in dict.fromkeys(found) if not ipaddress.ip_address(one).is_loopback]
    return tuple(sorted(usable, key=lambda one: not ipaddress.ip_address(one).is_private))


def open_door(store_folder: Path, address: str) -> OpenDoor:
    """Open the door, or return the one that is open at this address.

    Raises
    ------
    Refused
        ``door.no_start``: it did not come up.
    """
    global _open
    with _lock:
        if _open is not None and _open.process.poll() is None:
            if _open.address == address:
                return _open
            _shut()
        port = _free(address)
        process = subprocess.Popen(
            [
                sys.executable, "-m", "condition.door", "--store", str(store_folder),
                "--address", address, "--port", str(port),
            ],
            cwd=_ROOT, stdin=subprocess.PIPE, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        door = OpenDoor(address, port, process)
        if not _answers(door):
            process.kill()
            process.wait()
            raise Refused("door.no_start", address=address)
        _open = door
        return door


def the_door() -> OpenDoor | None:
    """Return the door when it stands open."""
    with _lock:
        return _open if _open is not None and _open.process.poll() is None else None


def shut_door() -> None:
    with _lock:
        _shut()


def remember(pass_id: str, token: str) -> None:
    """Keep a pass's token while this program runs, so that its QR code can be shown again; it goes to no disk."""
    _tokens[pass_id] = token


def token_of(pass_id: str) -> str | None:
    return _tokens.get(pass_id)


def _shut() -> None:
    global _open
    if _open is not None:
        if _open.process.stdin is not None:
            _open.process.stdin.close()
        try:
            _open.process.wait(5)
        except subprocess.TimeoutExpired:
            _open.process.kill()
            _open.process.wait()
    _open = None


def _free(address: str) -> int:
    """Return the usual port, or any other when somebody has it."""
    for port in (PORT, 0):
        with socket.socket(socket.AF_INET6 if ":" in address else socket.AF_INET) as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind((address, port))
                return probe.getsockname()[1]
            except OSError:
                continue
    raise Refused("door.no_start", address=address)


def _answers(door: OpenDoor) -> bool:
    end = time.monotonic() + START_S
    while time.monotonic() < end and door.process.poll() is None:
        try:
            with urllib.request.urlopen(f"{door.url()}health", timeout=2):
                return True
        except (OSError, urllib.error.URLError):
            time.sleep(0.15)
    return False


atexit.register(shut_door)

"""The child's side of the pool: takes one task at a time from a pipe, under limits, and answers.

Started as its own program, not forked and not told the parent's main module, so that it never runs ``app.py`` again.
"""

from __future__ import annotations

import contextlib
import errno
import importlib
import io
import os
import pickle
import struct
import sys
from typing import BinaryIO

from condition.errors import ConditionError

MESSAGE_LIMIT = 64_000_000
_LENGTH = struct.Struct(">Q")
_GRACE_S = 5


def send(stream: BinaryIO, message: object) -> None:
    """Write one message, its length first."""
    data = pickle.dumps(message, protocol=5)
    stream.write(_LENGTH.pack(len(data)))
    stream.write(data)
    stream.flush()


def receive_bytes(stream: BinaryIO) -> bytes:
    """Read one message.

    Raises
    ------
    EOFError
        The other side is gone, or says nonsense.
    """
    head = stream.read(_LENGTH.size)
    if len(head) < _LENGTH.size:
        raise EOFError
    (length,) = _LENGTH.unpack(head)
    if length > MESSAGE_LIMIT:
        raise EOFError
    data = stream.read(length)
    if len(data) < length:
        raise EOFError
    return data


class _Plain(pickle.Unpickler):
    """Builds plain values and this program's own records and errors, nothing else: the worker has met hostile bytes,
    and what it says must not be able to run anything here."""

    def find_class(self, module: str, name: str) -> object:
        found = None
        if module == "condition" or module.startswith("condition."):
            found = getattr(importlib.import_module(module), name, None)
        record = isinstance(found, type) and (
            hasattr(found, "__dataclass_fields__") or issubclass(found, ConditionError)
        )
        if record or (module == "condition.errors" and name in ("_rebuild", "_rebuild_damaged")):
            return found
        raise pickle.UnpicklingError(f"a worker may answer plain values and records only, not {module}.{name}")


def plain_loads(data: bytes) -> object:
    """Read an answer of a worker.

    Raises
    ------
    pickle.UnpicklingError
        It holds something else than plain values, records and errors of this program.
    """
    return _Plain(io.BytesIO(data)).load()


def limit_memory(limit_bytes: int) -> None:
    """Bound this process's own memory, where the system can (not on Windows; macOS takes it but does not hold it)."""
    with contextlib.suppress(ImportError, OSError, ValueError):
        import resource

        _, hard = resource.getrlimit(resource.RLIMIT_DATA)
        most = limit_bytes if hard == resource.RLIM_INFINITY else min(limit_bytes, hard)
        resource.setrlimit(resource.RLIMIT_DATA, (most, hard))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def _alarm(seconds: float) -> None:
    """End this process if it is still busy then: the pool kills it sooner, unless the pool itself is gone."""
    with contextlib.suppress(ImportError, AttributeError):
        import signal

        signal.setitimer(signal.ITIMER_REAL, seconds)


def run(name: str, arguments: tuple) -> object:
    """Call ``package.module:function``."""
    module, _, function = name.partition(":")
    return getattr(importlib.import_module(module), function)(*arguments)


def _outcome(error: Exception) -> str:
    if isinstance(error, OSError) and error.errno in (errno.ENOSPC, errno.EDQUOT):
        return "disk_full"
    short_of_memory = isinstance(error, MemoryError) or "insufficient memory" in str(error).lower()
    return "no_memory" if short_of_memory else "failed"


def serve(memory_bytes: int) -> None:
    """Answer tasks from standard input on standard output until it closes. Anything printed goes to standard error."""
    inward, outward = sys.stdin.buffer, os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    with contextlib.suppress(AttributeError, OSError):
        os.nice(5)
    limit_memory(memory_bytes)
    while True:
        try:
            name, arguments, seconds = pickle.loads(receive_bytes(inward))
        except EOFError:
            return
        _alarm(seconds + _GRACE_S)
        try:
            answer = ("done", run(name, arguments))
        except ConditionError as error:
            answer = ("refused", error)
        except Exception as error:
            answer = (_outcome(error), f"{type(error).__name__}: {error}")
        _alarm(0)
        try:
            send(outward, answer)
        except (pickle.PicklingError, TypeError, AttributeError) as error:
            send(outward, ("failed", f"{name} gave an answer that can't be sent: {error}"))

"""One pool of two warm worker processes that meet untrusted files, each task under a limit of time and memory.

Paths and small records cross to a worker and back, pixel arrays never.
"""

from __future__ import annotations

import atexit
import contextlib
import json
import os
import queue
import subprocess
import sys
import threading
from collections.abc import Callable
from concurrent.futures import Future

from condition.errors import Refused
from condition.flow import worker

WORKERS = 2
SECONDS = 90.0
"""A 33 MP 10-bit HEIF takes 5 s of work, judged and tiled 10 s, on one core; the rest is for a busy machine."""
MEMORY_BYTES = 3_000_000_000
"""Own memory of one worker. At the pixel limit a photo peaks at 1.3 GB as a plain JPEG and 1.6 GB as a progressive
one without chroma subsampling, judged and tiled 1.4 and 1.6 GB, 0.4 GB of it libraries (measured on Linux); the rest is
for formats that need more. Two workers at their peak leave half of an 8 GB laptop to the others."""

_START = "import json, sys; sys.path[:] = json.loads(sys.argv[1]); from condition.flow.worker import serve; serve({})"
_Task = tuple[Future, str, tuple, float, str]


class WorkerFailed(RuntimeError):
    """A task raised what it should not have: a defect of the program, not of the input."""


class Pool:
    """Two workers, each fed by a thread of its own; a worker that is stuck or dies is replaced. Safe from any thread.

    Example
    -------
    >>> future = pool.submit(inspect_file, path, name, seconds=30)  # doctest: +SKIP
    >>> future.result()  # doctest: +SKIP
    """

    def __init__(self, workers: int = WORKERS, memory_bytes: int = MEMORY_BYTES) -> None:
        self._tasks: queue.SimpleQueue[_Task | None] = queue.SimpleQueue()
        self._closed = False
        self._lock = threading.Lock()
        self._hands = [_Hand(self._tasks, memory_bytes, number) for number in range(workers)]

    def submit(
        self, function: str | Callable, *arguments: object, seconds: float = SECONDS, file: str | None = None
    ) -> Future:
        """Have a module-level function (or its ``package.module:name``) called in a worker.

        The future answers with its result, or raises what the function refused, or ``Refused``: ``photo.too_slow``
        after ``seconds`` of work (waiting in line does not count), ``photo.no_memory``, ``photo.disk_full`` or
        ``photo.worker_died``, which name ``file``, by default the first argument's file name; or
        :class:`WorkerFailed` for a defect.
        """
        name = function if isinstance(function, str) else f"{function.__module__}:{function.__qualname__}"
        future: Future = Future()
        with self._lock:
            if self._closed:
                raise RuntimeError("the pool is closed")
            named = file if file is not None else os.path.basename(str(arguments[0])) if arguments else name
            self._tasks.put((future, name, arguments, seconds, named))
        return future

    def close(self) -> None:
        """End the workers; tasks that wait are cancelled, the one at work is refused. May be called twice."""
        with self._lock:
            if self._closed:
                return
            self._closed = True
        with contextlib.suppress(queue.Empty):
            while True:
                if task := self._tasks.get_nowait():
                    task[0].cancel()
        for hand in self._hands:
            self._tasks.put(None)
            hand.end()

    def __enter__(self) -> Pool:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


class _Hand:
    """One worker process and the thread that feeds it."""

    def __init__(self, tasks: queue.SimpleQueue, memory_bytes: int, number: int) -> None:
        self._tasks = tasks
        self._memory_bytes = memory_bytes
        self._lock = threading.Lock()
        self._process: subprocess.Popen | None = None
        self._ended = False
        threading.Thread(target=self._feed, name=f"photo worker {number}", daemon=True).start()

    def _started(self) -> subprocess.Popen:
        with self._lock:
            if self._ended:
                raise BrokenPipeError
            if self._process is None or self._process.poll() is not None:
                self._process = subprocess.Popen(
                    [sys.executable, "-c", _START.format(self._memory_bytes), json.dumps(sys.path)],
                    stdin=subprocess.PIPE,
                    stdout=subprocess.PIPE,
                    stderr=None if os.environ.get("CONDITION_DEBUG") else subprocess.DEVNULL,
                    env={**os.environ, "OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"},
                )
            return self._process

    def _feed(self) -> None:
        with contextlib.suppress(OSError):
            self._started()
        while task := self._tasks.get():
            future, name, arguments, seconds, file = task
            if not future.set_running_or_notify_cancel():
                continue
            try:
                future.set_result(self._ask(name, arguments, seconds, file))
            except BaseException as error:
                future.set_exception(error)

    def _ask(self, name: str, arguments: tuple, seconds: float, file: str) -> object:
        try:
            process = self._started()
        except OSError as error:
            raise Refused("photo.worker_died", file=file) from error
        with _Deadline(process, seconds) as deadline:
            try:
                worker.send(process.stdin, (name, arguments, seconds))
                data = worker.receive_bytes(process.stdout)
            except (EOFError, OSError) as error:
                self._bury(process)
                raise Refused("photo.too_slow" if deadline.passed else "photo.worker_died", file=file) from error
        outcome, answer = worker.plain_loads(data)
        if outcome == "refused":
            raise answer
        if outcome in ("no_memory", "disk_full"):
            raise Refused(f"photo.{outcome}", file=file)
        if outcome == "failed":
            raise WorkerFailed(answer)
        return answer

    def _bury(self, process: subprocess.Popen) -> None:
        process.kill()
        process.wait()
        for pipe in (process.stdin, process.stdout):
            with contextlib.suppress(OSError):
                pipe.close()

    def end(self) -> None:
        with self._lock:
            self._ended = True
            if self._process is not None:
                self._process.kill()
                self._process.wait()


class _Deadline:
    """Kills a process when the time is up, unless it has answered first: the lock keeps the two apart."""

    def __init__(self, process: subprocess.Popen, seconds: float) -> None:
        self.passed = False
        self._answered = False
        self._process = process
        self._lock = threading.Lock()
        self._timer = threading.Timer(seconds, self._stop)
        self._timer.daemon = True

    def _stop(self) -> None:
        with self._lock:
            if not self._answered:
                self.passed = True
                self._process.kill()

    def __enter__(self) -> _Deadline:
        self._timer.start()
        return self

    def __exit__(self, *_: object) -> None:
        with self._lock:
            self._answered = True
        self._timer.cancel()


_shared: Pool | None = None
_shared_lock = threading.Lock()


def shared() -> Pool:
    """Return the program's one pool, made when it is first asked for and closed when the program ends."""
    global _shared
    with _shared_lock:
        if _shared is None:
            _shared = Pool()
            atexit.register(_shared.close)
        return _shared

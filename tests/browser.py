"""Chromium for the browser tests, and a Streamlit server of the test's own.

Where no Chromium is installed the tests are skipped with a sentence, except under CI, where that is a failure.
"""

from __future__ import annotations

import os
import shutil
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
CHROMIUM_FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--disable-default-apps", "--disable-extensions",
]  # fmt: skip
START_S = 40.0


def find_chromium() -> str | None:
    return next((path for name in ("chromium", "chromium-browser") if (path := shutil.which(name))), None)


def without_chromium(why: str) -> None:
    """Skip the test, or fail it under CI: there the browser is part of the machine."""
    sentence = f"{why}: install Debian's chromium and the Python package playwright to run the browser tests."
    if os.environ.get("CI", "").lower() in ("1", "true", "yes"):
        pytest.fail(sentence)
    pytest.skip(sentence)


@pytest.fixture(scope="module")
def chromium() -> Iterator[object]:
    """A headless Chromium (Playwright ``Browser``); each test opens its own context."""
    path = find_chromium()
    if path is None:
        without_chromium("Chromium is missing")
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        without_chromium("Playwright is missing")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=CHROMIUM_FLAGS)
        yield browser
        browser.close()


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


class Server:
    """``streamlit run`` of a script in a process group of its own, on one port over restarts."""

    def __init__(self, script: Path, environment: dict[str, str] | None = None) -> None:
        self.script = script
        self.environment = {**os.environ, **(environment or {}), "PYTHONPATH": str(ROOT)}
        self.port = free_port()
        self.process: subprocess.Popen | None = None

    @property
    def url(self) -> str:
        return f"http://localhost:{self.port}"

    def start(self) -> Server:
        self.process = subprocess.Popen(
            [
                sys.executable, "-m", "streamlit", "run", str(self.script), "--server.port", str(self.port),
                "--server.address", "localhost", "--server.headless", "true", "--server.fileWatcherType", "none",
                "--browser.gatherUsageStats", "false", "--client.toolbarMode", "minimal",
            ],
            cwd=ROOT, env=self.environment, start_new_session=True,
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        end = time.monotonic() + START_S
        while time.monotonic() < end:
            try:
                with urllib.request.urlopen(f"{self.url}/_stcore/health", timeout=2):
                    return self
            except OSError:
                if self.process.poll() is not None:
                    raise RuntimeError(f"the server ended with {self.process.returncode}") from None
                time.sleep(0.1)
        self.kill()
        raise RuntimeError("the server did not answer in time")

    def kill(self) -> None:
        """End it as a power cut would: no time to tidy up."""
        if self.process is not None:
            if self.process.poll() is None:
                os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait()
            self.process = None

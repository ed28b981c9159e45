import shutil
from datetime import UTC, datetime, timedelta

import pytest

from condition.store import Store


class Clock:
    """A clock that moves on one second each time it is read."""

    def __init__(self) -> None:
        self.time = datetime(2024, 3, 1, 9, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        self.time += timedelta(seconds=1)
        return self.time


@pytest.fixture(scope="session")
def empty_store(tmp_path_factory):
    """An empty store's folder, made once and copied for each test."""
    folder = tmp_path_factory.mktemp("empty") / "store"
    Store.open(folder).close()
    return folder


@pytest.fixture
def folder(tmp_path, empty_store):
    return shutil.copytree(empty_store, tmp_path / "store")


@pytest.fixture
def store(folder):
    with Store.open(folder, clock=Clock(), patience_s=5) as opened:
        yield opened

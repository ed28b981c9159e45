"""What every test may use: a desk with a fresh store, and a photo whose plane is known by construction."""

from __future__ import annotations

import pytest

from tests.browser import chromium

__all__ = ["chromium"]


def pytest_collection_modifyitems(items):
    """A browser on a busy machine may miss a beat: such a test fails when it fails three times."""
    for item in items:
        if "chromium" in item.fixturenames or item.get_closest_marker("browser"):
            item.add_marker(pytest.mark.flaky(reruns=2))


@pytest.fixture
def desk(tmp_path):
    from condition.flow.desk import Desk
    from condition.store import Store

    store = Store.open(tmp_path / "store")
    yield Desk(store, "tester")
    store.close()


@pytest.fixture
def job(desk):
    from condition.flow.jobs import open_job

    return open_job(desk, "2026-001", title="Test mandolin", family="mandolin", client_name="A. Client")

"""Every page passes axe-core's rules (WCAG 2, levels A and AA) where the page, not Streamlit, decides."""

from __future__ import annotations

import io
from uuid import uuid4

import numpy as np
import pytest
from PIL import Image

from tests.browser import ROOT, Server

pytestmark = pytest.mark.browser
PLACES = (
    "", "instrument", "photos", "examination", "paper", "size-cards", "shop", "plan", "estimate", "handovers",
    "readings", "faults", "codes", "before-buying", "phone", "strip-down", "parts", "return",
)  # fmt: skip


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    from condition.flow import intake
    from condition.flow.desk import Desk
    from condition.flow.jobs import open_job, view_named
    from condition.store import Store

    folder = tmp_path_factory.mktemp("served") / "store"
    with Store.open(folder) as store:
        desk = Desk(store, str(uuid4()))
        job = open_job(desk, "2026-001", title="Test mandolin", client_name="A. Client")
        buffer = io.BytesIO()
        Image.fromarray(np.full((300, 400, 3), 120, np.uint8)).save(buffer, "JPEG")
        view = view_named(desk, job, "front")
        intake.take_in(desk, job, [("front.jpg", buffer.getvalue())], view_id=view.id)
    server = Server(ROOT / "app.py", {"CONDITION_STORE": str(folder)}).start()
    yield server, job
    server.kill()


@pytest.mark.parametrize("place", PLACES, ids=lambda p: p or "bench")
def test_a_page_has_no_serious_barrier(chromium, served, place):
    from axe_playwright_python.sync_playwright import Axe

    server, job = served
    page = chromium.new_page(viewport={"width": 1024, "height": 768})
    page.goto(f"{server.url}/{place}?job={job.id}")
    page.get_by_role("heading").first.wait_for(timeout=60_000)
    page.locator("[data-test-script-state=notRunning]").first.wait_for(timeout=60_000)
    page.wait_for_timeout(1500)
    found = Axe().run(page).response["violations"]
    page.close()
    serious = [
        (rule["id"], rule["nodes"][0]["html"][:120]) for rule in found if rule["impact"] in ("serious", "critical")
    ]
    assert not serious

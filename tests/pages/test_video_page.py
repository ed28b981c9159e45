"""A bench video in a real browser: its progress is seen, and neither a reload nor a killed server loses it."""

from __future__ import annotations

from uuid import uuid4

import cv2
import numpy as np
import pytest
from playwright.sync_api import expect

from condition.flow.desk import Desk
from condition.flow.jobs import open_job
from condition.store import Store
from tests.browser import ROOT, Server

pytestmark = pytest.mark.browser
WAIT = 120_000
SECONDS, RATE, SIZE = 60, 10, (1280, 720)


@pytest.fixture(scope="module")
def walk(tmp_path_factory):
    """A video long enough to be seen at work."""
    path = tmp_path_factory.mktemp("video") / "bench walk.mp4"
    rng = np.random.default_rng(3)
    wide = cv2.resize(rng.integers(60, 190, (30, 80, 3), np.uint8), (1900, 720), interpolation=cv2.INTER_CUBIC)
    writer = cv2.VideoWriter(str(path), cv2.VideoWriter_fourcc(*"mp4v"), RATE, SIZE)
    for number in range(SECONDS * RATE):
        writer.write(np.ascontiguousarray(wide[:, number : number + SIZE[0]]))
    writer.release()
    return path


@pytest.fixture
def bench(chromium, tmp_path):
    with Store.open(tmp_path / "store") as store:
        job = open_job(Desk(store, str(uuid4())), "2026-001", title="Test mandolin", client_name="A. Client")
    server = Server(ROOT / "app.py", {"CONDITION_STORE": str(tmp_path / "store")}).start()
    page = chromium.new_page()
    page.set_default_timeout(WAIT)
    page.goto(f"{server.url}/photos?job={job.id}")
    yield page, server, tmp_path / "store"
    page.close()
    server.kill()


def drop_video(page, walk) -> None:
    page.get_by_text("Stills from a video").click()
    page.get_by_test_id("stExpander").locator("input[type=file]").set_input_files(str(walk))
    page.get_by_label("How many at most").fill("2")
    page.keyboard.press("Enter")
    page.get_by_role("button", name="Take stills").click()
    expect(page.get_by_text("Looking through bench walk.mp4")).to_be_visible(timeout=WAIT)


def test_a_video_outlives_a_reload_and_a_killed_server(bench, walk):
    page, server, store = bench
    drop_video(page, walk)
    page.reload()
    expect(page.get_by_text("Looking through bench walk.mp4")).to_be_visible(timeout=WAIT)
    server.kill()
    server.start()
    page.reload()
    expect(page.get_by_text("Looking through bench walk.mp4")).to_be_visible(timeout=WAIT)
    expect(page.get_by_text("2 stills were taken from bench walk.mp4")).to_be_visible(timeout=WAIT)
    page.reload()
    expect(page.get_by_text("2 stills were taken from bench walk.mp4")).to_be_visible(timeout=WAIT)
    expect(page.get_by_text("bench walk 0m").first).to_be_visible(timeout=WAIT)
    assert not list((store / "arriving").iterdir())
    page.get_by_role("button", name="Good").click()
    expect(page.get_by_role("button", name="Take stills")).to_be_attached(timeout=WAIT)


def test_a_video_can_be_stopped(bench, walk):
    page, _, store = bench
    drop_video(page, walk)
    page.get_by_role("button", name="Stop", exact=True).click()
    expect(page.get_by_text("Looking through bench walk.mp4 was stopped")).to_be_visible(timeout=WAIT)
    assert not list((store / "arriving").iterdir())

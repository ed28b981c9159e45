"""In a real browser: how an instrument is strung, and a finding's place as its mark tells it until a person writes one.

Common practice: seen from the front with the neck up, the bass side of an instrument strung for a right-handed player
is on the left, of one strung for a left-handed player on the right.
"""

from __future__ import annotations

import io
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Page, expect

from condition.flow import examination
from condition.flow.desk import Desk, new_id
from condition.flow.intake import take_in
from condition.flow.jobs import open_job, view_named
from condition.flow.scales import set_scale
from condition.records.finding import Finding
from condition.records.instrument import Instrument
from condition.records.photo import Photo
from condition.store import Store
from tests.browser import ROOT, Server

pytestmark = pytest.mark.browser
WAIT = 60_000
ON_THE_LEFT = "top, bass side of the lower bout"


@pytest.fixture
def bench(chromium, tmp_path):
    """A face 400 mm long in a photo with the neck up, with a dent near its left edge."""
    buffer = io.BytesIO()
    Image.fromarray(np.full((900, 1200, 3), 140, np.uint8)).save(buffer, "JPEG")
    with Store.open(tmp_path / "store") as store:
        desk = Desk(store, "tester")
        job = open_job(desk, "2026-001", title="Test mandolin", family="mandolin")
        view = view_named(desk, job, "front")
        photo = take_in(desk, job, [("front.jpg", buffer.getvalue())], view_id=view.id)[0].photo
        for kind, shape in (
            ("known distance", {"shape": "line", "points": [[300.0, 50.0], [300.0, 850.0]]}),
            ("outline", {"shape": "ring", "points": [[300.0, 50.0], [900.0, 50.0], [900.0, 850.0], [300.0, 850.0]]}),
            ("dent", {"shape": "circle", "x": 400.0, "y": 700.0, "radius": 9.0, "rim": []}),
        ):
            mark = {"id": new_id(), "photo_id": photo.id, "finding_id": None, "kind": kind, "shape": shape}
            assert examination.apply(desk, {"op": new_id(), "do": "put", "version": 0, "mark": mark})["ok"]
        set_scale(desk, replace(desk.store.get(Photo, photo.id), known_distance_mm=400.0))
        server = Server(ROOT / "app.py", {"CONDITION_STORE": str(tmp_path / "store")}).start()
        context = chromium.new_context(viewport={"width": 1366, "height": 900})
        page = context.new_page()
        page.set_default_timeout(WAIT)
        expect.set_options(timeout=WAIT)
        yield page, server, desk, job
        context.close()
        server.kill()


def examined(page: Page, server: Server, job):
    """Open the only finding; return its field for the place."""
    page.goto(f"{server.url}/examination?job={job.id}")
    page.locator(".findings li button").first.click()
    return page.get_by_label("Place", exact=True)


def written(desk: Desk, job) -> str:
    return desk.store.find(Finding, job_id=job.id)[0].place


def test_the_proposed_place_stands_in_the_field_until_one_is_written(bench):
    page, server, desk, job = bench
    field = examined(page, server, job)
    expect(field).to_have_attribute("placeholder", ON_THE_LEFT)
    expect(field).to_have_value("")
    page.get_by_role("button", name="Write it in", exact=True).click()
    expect(field).to_have_value(ON_THE_LEFT)
    expect(page.get_by_role("button", name="Write it in", exact=True)).to_have_count(0)
    assert written(desk, job) == ON_THE_LEFT

    field.fill("by the end pin")
    field.press("Tab")
    expect(page.locator(".findings li").first).to_contain_text("by the end pin")
    page.reload()
    field = examined(page, server, job)
    expect(field).to_have_value("by the end pin")
    expect(page.get_by_role("button", name="Write it in", exact=True)).to_have_count(0)

    field.fill("  ")
    field.press("Tab")
    expect(page.get_by_role("button", name="Write it in", exact=True)).to_be_visible()
    expect(field).to_have_attribute("placeholder", ON_THE_LEFT)
    expect(field).to_have_value("")
    expect(page.locator(".findings li .place.proposed")).to_have_text(ON_THE_LEFT)
    assert written(desk, job) == ""


def test_said_to_be_strung_for_a_left_handed_player_the_other_side_is_proposed(bench):
    page, server, desk, job = bench
    examined(page, server, job)
    page.get_by_role("button", name="Write it in", exact=True).click()
    expect(page.get_by_label("Place", exact=True)).to_have_value(ON_THE_LEFT)
    page.goto(f"{server.url}/instrument?job={job.id}")
    page.get_by_text("a left-handed player", exact=True).click()
    page.get_by_role("button", name="Keep these facts").click()
    expect(page.get_by_text("The place written for finding 1 names the bass or the treble side")).to_be_visible()
    assert desk.store.get(Instrument, job.instrument_id).handedness == "left"
    page.reload()
    expect(page.get_by_role("radio", name="a left-handed player")).to_be_checked()

    field = examined(page, server, job)
    expect(field).to_have_value(ON_THE_LEFT)
    field.fill("")
    field.press("Tab")
    expect(field).to_have_attribute("placeholder", "top, treble side of the lower bout")

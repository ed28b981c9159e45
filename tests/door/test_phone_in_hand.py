"""The phone's page in a browser of a phone's size, with the laptop's page open in a second one."""

from __future__ import annotations

import os
import re
import signal

import pytest
from playwright.sync_api import expect

from condition.flow.door import open_door, shut_door
from condition.flow.jobs import view_named
from condition.flow.phone import let_in, notes_of, withdraw
from condition.records.photo import Photo
from tests.browser import ROOT, Server
from tests.flow.test_watched import picture

DEMO = ROOT / "demo_images"
WAIT = 60_000

pytestmark = pytest.mark.browser


@pytest.fixture
def door(desk):
    door = open_door(desk.store.folder, "127.0.0.1")
    yield door
    shut_door()


@pytest.fixture
def phone(chromium):
    expect.set_options(timeout=WAIT)
    context = chromium.new_context(viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True)
    page = context.new_page()
    page.set_default_timeout(WAIT)
    yield page
    context.close()


def rows(page):
    return page.locator("#sent > li")


def test_a_photo_and_a_note_reach_the_laptop(desk, job, door, phone, chromium):
    face = view_named(desk, job, "tail end")
    _, token = let_in(desk, job, hours=1)
    asked = []
    phone.on("request", lambda request: asked.append(request.url))
    phone.goto(door.url(token))
    expect(phone.get_by_role("heading", name="Test mandolin")).to_be_visible()
    assert token not in phone.url
    phone.get_by_label("tail end").check()
    phone.locator("#take").set_input_files(DEMO / "closeup_endpin.jpg")
    expect(rows(phone).first).to_contain_text(re.compile("Kept"))
    expect(rows(phone).first).to_contain_text("Size cards seen: 2")
    phone.get_by_label("A short note").fill("Collar sat askew")
    phone.get_by_role("button", name="Send the note").tap()
    expect(rows(phone).first).to_contain_text("Note kept")
    (photo,) = desk.store.find(Photo, job_id=job.id)
    assert photo.view_id == face.id
    assert all(token not in url for url in asked)
    for target in phone.locator(".big:visible, #face-list label:visible").all():
        assert target.bounding_box()["height"] >= 44
    assert phone.evaluate("document.documentElement.scrollWidth") <= 390

    server = Server(ROOT / "app.py", {"CONDITION_STORE": str(desk.store.folder)}).start()
    try:
        laptop = chromium.new_page(viewport={"width": 1366, "height": 768})
        laptop.goto(f"{server.url}/phone?job={job.id}")
        expect(laptop.get_by_text("Collar sat askew")).to_be_visible()
        expect(laptop.get_by_text("closeup_endpin.jpg")).to_be_visible()
        phone.locator("#pick").set_input_files(DEMO / "back.jpg")
        expect(laptop.get_by_text("back.jpg")).to_be_visible()
        laptop.close()
    finally:
        server.kill()


def test_thirty_photos_at_once_over_a_slow_connection(desk, job, door, phone, tmp_path):
    _, token = let_in(desk, job, hours=1)
    files = []
    for number in range(30):
        file = tmp_path / f"IMG_{number:04}.jpg"
        file.write_bytes(picture(number))
        files.append(file)
    phone.goto(door.url(token))
    expect(phone.locator("#work")).to_be_visible()
    line = phone.context.new_cdp_session(phone)
    line.send("Network.enable")
    line.send(
        "Network.emulateNetworkConditions",
        {"offline": False, "latency": 120, "downloadThroughput": 90_000, "uploadThroughput": 40_000},
    )
    phone.locator("#pick").set_input_files(files)
    expect(rows(phone)).to_have_count(30)
    expect(phone.locator("#sent > li.good, #sent > li.look")).to_have_count(30, timeout=240_000)
    assert {photo.file_name for photo in desk.store.find(Photo, job_id=job.id)} == {file.name for file in files}


def test_what_waits_survives_a_reload_and_a_door_that_was_shut(desk, job, door, phone):
    _, token = let_in(desk, job, hours=1)
    phone.goto(door.url(token))
    expect(phone.locator("#work")).to_be_visible()
    phone.route("**/photos", lambda route: route.abort())
    phone.locator("#pick").set_input_files(DEMO / "closeup_endpin.jpg")
    expect(rows(phone).first).to_contain_text("Waits to be sent")
    phone.reload()
    expect(rows(phone).first).to_contain_text("Waits to be sent")
    shut_door()
    phone.unroute("**/photos")
    expect(phone.locator("#state")).to_contain_text("does not answer")
    again = open_door(desk.store.folder, "127.0.0.1")
    assert again.port == door.port
    expect(rows(phone).first).to_contain_text("Kept")
    assert len(desk.store.find(Photo, job_id=job.id)) == 1


def test_the_laptop_asleep_is_told_and_loses_nothing(desk, job, door, phone):
    _, token = let_in(desk, job, hours=1)
    phone.goto(door.url(token))
    expect(phone.locator("#work")).to_be_visible()
    os.kill(door.process.pid, signal.SIGSTOP)
    try:
        phone.locator("#pick").set_input_files(DEMO / "closeup_endpin.jpg")
        phone.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
        expect(phone.locator("#state")).to_contain_text("does not answer")
    finally:
        os.kill(door.process.pid, signal.SIGCONT)
    expect(rows(phone).first).to_contain_text("Kept")
    assert len(desk.store.find(Photo, job_id=job.id)) == 1


def test_a_withdrawn_pass_is_told_on_the_phone(desk, job, door, phone):
    made, token = let_in(desk, job, hours=1)
    phone.goto(door.url(token))
    expect(phone.locator("#work")).to_be_visible()
    withdraw(desk, made)
    phone.get_by_label("A short note").fill("too late")
    phone.get_by_role("button", name="Send the note").tap()
    expect(phone.locator("#state")).to_contain_text("withdrawn")
    expect(phone.locator("#work")).to_be_hidden()
    assert not notes_of(desk, job)


def test_a_wrong_code_is_told(door, phone):
    phone.goto(door.url("not-a-pass"))
    expect(phone.locator("#state")).to_contain_text("Scan the code")
    expect(phone.locator("#work")).to_be_hidden()

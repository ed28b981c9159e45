"""Readings, faults and codes in a real browser: typed, refused, kept through a reload, put back."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from condition.flow.desk import Desk
from condition.flow.faults import faults_of
from condition.flow.function_test import listed
from condition.flow.jobs import open_job
from condition.flow.readings import readings_of
from condition.store import Store
from tests.browser import ROOT, Server

pytestmark = pytest.mark.browser
WAIT = 60_000


@pytest.fixture
def bench(chromium, tmp_path):
    folder = tmp_path / "store"
    with Store.open(folder) as store:
        desk = Desk(store, "tester")
        job = open_job(desk, "2026-001", title="Test mandolin", family="mandolin", client_name="A. Client")
        server = Server(ROOT / "app.py", {"CONDITION_STORE": str(folder)}).start()
        context = chromium.new_context(viewport={"width": 820, "height": 1180})
        page = context.new_page()
        page.set_default_timeout(WAIT)
        expect.set_options(timeout=WAIT)
        yield page, server, desk, job
        context.close()
        server.kill()


def go(page: Page, server: Server, job, place: str) -> None:
    page.goto(f"{server.url}/{place}?job={job.id}")
    page.get_by_role("heading", name="Test mandolin").wait_for()


def step(page: Page, name: str) -> None:
    page.locator(".st-key-bench-order button", has_text=name).click()
    expect(page.get_by_role("heading", name=name)).to_be_visible()


def fill(page: Page, label: str, text: str) -> None:
    page.locator("[data-test-script-state=notRunning]").first.wait_for()
    field = page.get_by_label(label, exact=True)
    field.fill(text)
    field.press("Tab")


def test_readings_before_the_strings_come_off(bench):
    page, server, desk, job = bench
    go(page, server, job, "readings")
    expect(page.get_by_text("What is marked goes with the strings")).to_be_visible()
    fill(page, "Humidity, %", "31 %")
    expect(page.get_by_text("31.0 ± 3.5 %")).to_be_visible()
    fill(page, "Temperature, °C", "20.5")
    expect(page.locator(".st-key-bench-order button", has_text="The air of the room")).to_contain_text("done")

    step(page, "Setup: action, relief, nut slots")
    fill(page, "Relief at fret 7, string as straightedge", "0.45 mm")
    expect(page.get_by_text("0.450 ± 0.035 mm")).to_be_visible()
    fill(page, "Relief at fret 7, string as straightedge", "a hair")
    expect(page.get_by_text("“a hair” is no length.")).to_be_visible()
    assert [one.typed for one in readings_of(desk, job) if one.what == "relief"] == ["0.45 mm"]
    assert page.locator("img[src*='/bench/fretboard/']").evaluate("image => image.naturalWidth") > 400

    step(page, "Coil resistance at the jack")
    fill(page, "Switch position", "jack")
    page.get_by_label("The meter shows", exact=True).fill("6.82 k")
    page.get_by_role("button", name="Add", exact=True).click()
    expect(page.get_by_text("Type what the volume control is marked with")).to_be_visible()
    page.get_by_role("radio", name="wandering", exact=True).click()
    expect(page.get_by_text("The reading wanders, so it is no value")).to_be_visible()

    page.reload()
    step(page, "Setup: action, relief, nut slots")
    expect(page.get_by_label("Relief at fret 7, string as straightedge")).to_have_value("0.45 mm")
    (coil,) = (one for one in readings_of(desk, job) if one.what == "coil")
    assert coil.coil.state == "wandering"
    width = page.locator("[data-testid=stMain]").evaluate("main => main.scrollWidth - main.clientWidth")
    assert width <= 0


def test_one_tap_for_each_thing_tried(bench):
    page, server, desk, job = bench
    go(page, server, job, "readings")
    step(page, "Function test")
    page.get_by_role("button", name="Tuners and truss rod only").click()
    expect(page.get_by_text("Tuner 1 (E5)")).to_be_visible()
    slips = page.get_by_role("radio", name="slips", exact=True).first
    assert slips.bounding_box()["height"] >= 44
    slips.click()
    for _ in range(40):
        if listed(desk, job, "intake")[0].result == "slips":
            break
        page.wait_for_timeout(250)
    assert listed(desk, job, "intake")[0].result == "slips"


def test_a_fault_is_noted_taken_away_and_put_back(bench):
    page, server, desk, job = bench
    go(page, server, job, "faults")
    page.get_by_role("radio", name="hum", exact=True).click()
    page.get_by_role("button", name="Note it").click()
    expect(page.get_by_text("Touch the strings", exact=True)).to_be_visible()
    page.get_by_role("button", name="Take this fault away").click()
    page.get_by_role("button", name=re.compile("Put .* back")).click()
    expect(page.get_by_text("Touch the strings", exact=True)).to_be_visible()
    assert [fault.kind for fault in faults_of(desk, job)] == ["hum"]


def test_a_code_is_decoded_and_one_is_left_unread(bench):
    page, server, _, job = bench
    go(page, server, job, "codes")
    page.get_by_label("On which part").fill("tone control")
    page.get_by_label("As it reads").fill("137634")
    page.get_by_role("button", name="Keep as read").click()
    expect(page.get_by_text("1946, 1956, 1966, 1976 are all possible")).to_be_visible()
    page.locator(".st-key-bench-new-stamp").get_by_label("On which part").fill("volume control")
    page.get_by_role("button", name="Keep as left unread").click()
    expect(page.get_by_text("Say why it was left unread")).to_be_visible()
    page.locator(".st-key-bench-new-stamp").get_by_label("Left unread because").fill("its solder is undisturbed")
    page.get_by_role("button", name="Keep as left unread").click()
    expect(page.get_by_text("left unread: its solder is undisturbed")).to_be_visible()

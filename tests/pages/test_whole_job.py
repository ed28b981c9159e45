"""A person's first job in a real browser: open it, drop photos, mark one of each shape, reload, report."""

from __future__ import annotations

import re
from pathlib import Path

import pypdf
import pytest
from playwright.sync_api import Page, expect

from tests.browser import ROOT, Server

DEMO = ROOT / "demo_images"
WAIT = 60_000

pytestmark = pytest.mark.browser


@pytest.fixture
def bench(chromium, tmp_path):
    server = Server(ROOT / "app.py", {"CONDITION_STORE": str(tmp_path / "store")}).start()
    context = chromium.new_context(viewport={"width": 1366, "height": 850}, accept_downloads=True)
    page = context.new_page()
    page.set_default_timeout(WAIT)
    expect.set_options(timeout=WAIT)
    outside = []
    page.on(
        "request",
        lambda r: outside.append(r.url) if not re.match(r"(blob:)?(http|ws)://localhost|data:", r.url) else None,
    )
    page.goto(server.url)
    yield page, server, outside
    context.close()
    server.kill()


def open_place(page: Page, name: str) -> None:
    page.get_by_role("link", name=name, exact=True).first.click()


def open_a_job(page: Page) -> None:
    page.get_by_label("What is it?").fill("Test mandolin")
    page.get_by_label("Job name").fill("2026-001")
    page.get_by_label("Whose is it?").fill("A. Client")
    page.get_by_role("button", name="Open the job").click()
    expect(page.get_by_role("heading", name="Test mandolin")).to_be_visible()


def drop_photos(page: Page, *files: Path) -> None:
    open_place(page, "Photos")
    page.locator("input[type=file]").first.set_input_files([str(file) for file in files])
    page.get_by_role("button", name=re.compile(r"^Take in \d")).click()


def click_at(page: Page, share_x: float, share_y: float) -> None:
    box = page.locator(".bench .stage").bounding_box()
    page.mouse.click(box["x"] + share_x * box["width"], box["y"] + share_y * box["height"])
    page.wait_for_timeout(400)


READERS = {
    "record": "For the shop's own record",
    "client": "For the client",
    "insurer": "For the insurer",
    "specialist": "For the specialist",
    "buyer": "For a buyer",
    "everybody": "For everybody",
}


def paper_for(page: Page, button: str) -> str:
    """Make a reader's paper by its one button, save it, and return its text."""
    page.get_by_role("button", name=button, exact=True).click()
    pressed = page.get_by_test_id("stBaseButton-primary").filter(has_text=button)
    expect(pressed).to_be_visible()
    with page.expect_download() as download:
        page.get_by_role("button", name="Save the PDF").click()
    pages = pypdf.PdfReader(download.value.path()).pages
    return " ".join(" ".join(one.extract_text() for one in pages).split())


def change_hands(page: Page, way: str, receiver: str = "") -> None:
    open_place(page, "Handovers")
    page.get_by_role("radio", name=way).or_(page.get_by_role("button", name=way)).first.click()
    page.wait_for_timeout(2500)
    if receiver:
        box = page.get_by_role("combobox", name=re.compile("Received by"))
        box.click()
        box.fill(receiver)
        box.press("Enter")
    page.get_by_role("button", name="Keep this change of hands").click()


def test_a_job_from_its_opening_to_its_return_and_every_readers_paper(bench, tmp_path):
    page, _, outside = bench
    open_a_job(page)
    bad = tmp_path / "notes.jpg"
    bad.write_text("not a picture")
    drop_photos(page, DEMO / "closeup_bridge.jpg", DEMO / "back.jpg", bad)
    expect(page.get_by_text("2 photos taken in.")).to_be_visible()
    expect(page.get_by_text(re.compile(r"notes\.jpg"))).to_be_visible()
    page.get_by_role("button", name="Understood").click()
    expect(page.get_by_text(re.compile("Scale from 3 size cards"))).to_be_visible()

    open_place(page, "Examination")
    stage = page.locator(".bench .stage")
    expect(stage).to_be_visible()
    stage.click(position={"x": 5, "y": 5})
    for key, places in {
        "3": [(0.30, 0.30)],
        "4": [(0.50, 0.50), (0.53, 0.50)],
        "5": [(0.35, 0.60), (0.45, 0.62)],
        "6": [(0.60, 0.60), (0.70, 0.60), (0.66, 0.70)],
    }.items():
        page.keyboard.press(key)
        for place in places:
            click_at(page, *place)
        if key in "56":
            page.keyboard.press("Enter")
        page.wait_for_timeout(600)
    rows = page.locator(".findings li button")
    expect(rows).to_have_count(4)
    expect(rows.nth(2)).to_contain_text(re.compile(r"± .* mm"))
    length = re.search(r"[\d.]+ ± [\d.]+ mm", rows.nth(2).inner_text()).group()

    page.reload()
    expect(page.locator(".findings li button")).to_have_count(4)
    expect(page.locator(".findings li button").nth(2)).to_contain_text(length)

    change_hands(page, "Sent out", "Y. Marchbank")
    expect(page.get_by_role("heading", name="With Y. Marchbank")).to_be_visible()
    change_hands(page, "Came back")
    expect(page.get_by_role("heading", name="It is here")).to_be_visible()
    change_hands(page, "Returned")
    expect(page.get_by_role("heading", name="Returned to A. Client")).to_be_visible()

    open_place(page, "Papers")
    told = {reader: paper_for(page, button) for reader, button in READERS.items()}
    for reader in ("record", "client", "insurer", "specialist", "buyer"):
        assert " ".join(length.split()) in told[reader], reader
    for reader in ("record", "client", "insurer"):
        assert "A. Client" in told[reader], reader
    for reader in ("buyer", "everybody"):
        assert "leaves out" in told[reader], reader
        for name in ("A. Client", "Marchbank", "closeup_bridge.jpg"):
            assert name not in told[reader], (reader, name)
    open_place(page, "Bench")
    expect(page.get_by_role("heading", name=re.compile("Gone home"))).to_be_visible()
    assert not outside


def test_marks_survive_a_power_cut(bench):
    page, server, _ = bench
    open_a_job(page)
    drop_photos(page, DEMO / "closeup_bridge.jpg")
    expect(page.get_by_text("1 photo taken in.")).to_be_visible()
    open_place(page, "Examination")
    page.locator(".bench .stage").click(position={"x": 5, "y": 5})
    page.keyboard.press("5")
    click_at(page, 0.3, 0.3)
    click_at(page, 0.4, 0.3)
    page.keyboard.press("Enter")
    expect(page.locator(".findings li button")).to_have_count(1)
    server.kill()
    server.start()
    page.reload()
    expect(page.locator(".findings li button")).to_have_count(1)

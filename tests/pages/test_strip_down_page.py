"""The strip-down and the parts in a real browser: a step, a stop, a screw over, a judgement with its evidence."""

from __future__ import annotations

import contextlib
import re
from io import BytesIO

import cv2
import numpy as np
import pypdfium2
import pytest
from PIL import Image
from playwright.sync_api import Page, TimeoutError, expect

from tests.browser import ROOT, Server

WAIT = 90_000

pytestmark = pytest.mark.browser


@pytest.fixture
def served(tmp_path):
    from condition.flow.desk import Desk
    from condition.flow.jobs import open_job
    from condition.store import Store

    folder = tmp_path / "store"
    with Store.open(folder) as store:
        job = open_job(Desk(store, "M. Example"), "S-1", title="Solid guitar", family="solid electric guitar")
    server = Server(ROOT / "app.py", {"CONDITION_STORE": str(folder)}).start()
    yield server, job, folder
    server.kill()


@pytest.fixture
def page(chromium, served):
    server, job, _ = served
    context = chromium.new_context(viewport={"width": 820, "height": 1180}, accept_downloads=True)
    page = context.new_page()
    page.set_default_timeout(WAIT)
    expect.set_options(timeout=WAIT)
    page.goto(f"{server.url}/parts?job={job.id}")
    expect(page.get_by_role("heading", name="Solid guitar")).to_be_visible()
    yield page
    context.close()


def stored(served, kind):
    from condition.store import Store

    _, job, folder = served
    with Store.open(folder) as store:
        return store.find(kind, job_id=job.id)


def open_place(page: Page, name: str) -> None:
    page.get_by_role("link", name=name, exact=True).first.click()


def settled(page: Page) -> None:
    page.wait_for_timeout(500)
    page.locator("[data-test-script-state=notRunning]").first.wait_for()


def typed(page: Page, label: str, text: str) -> None:
    field = page.get_by_label(label, exact=True).first
    field.fill(text)
    field.press("Tab")
    settled(page)


def picture_of_a_layer() -> bytes:
    buffer = BytesIO()
    noise = np.random.default_rng(3).integers(0, 255, (480, 640, 3), np.uint8)
    Image.fromarray(cv2.GaussianBlur(noise, (0, 0), 3)).save(buffer, "JPEG")
    return buffer.getvalue()


def test_parts_are_laid_out_judged_and_left_undisturbed(page, served):
    from condition.records.part import Evidence, Part

    page.get_by_role("button", name="Lay out the parts of: solid electric guitar").click()
    page.get_by_role("button", name="volume controls").click()
    editor = page.locator(".st-key-part-editor")
    expect(editor.get_by_role("heading", name="Volume controls")).to_be_visible()
    editor.get_by_text("can't tell yet").first.click()
    expect(page.locator(".parts-strip")).to_contain_text("1 can't tell yet")
    typed(page, "What is seen", "Solder dull and even.")
    typed(page, "Claim", "Said to be the first ones.")
    editor.get_by_label("Add evidence").click()
    page.get_by_role("option", name="solder undisturbed").click()
    expect(editor.get_by_text("solder undisturbed").first).to_be_visible()
    typed(page, "In words", "Three joints of one age.")
    typed(page, "Leave it undisturbed, because", "the solder is the evidence")
    editor.get_by_role("button", name="Leave it as it is").click()
    expect(page.get_by_text("Left undisturbed: volume controls")).to_be_visible()
    page.reload()
    expect(page.get_by_text("Left undisturbed: volume controls")).to_be_visible()
    (control,) = [part for part in stored(served, Part) if part.code == "volume controls"]
    assert (control.originality, control.observation) == ("cannot tell", "Solder dull and even.")
    assert (control.claim, control.undisturbed_reason) == ("Said to be the first ones.", "the solder is the evidence")
    assert [one.words for one in stored(served, Evidence)] == ["Three joints of one age."]


def pick_part(page: Page, name: str) -> None:
    option = page.get_by_role("option", name=name, exact=True)
    for _ in range(5):
        page.get_by_label("What comes off").first.fill(name)
        with contextlib.suppress(TimeoutError):
            option.click(timeout=5000)
            break
    page.keyboard.press("Escape")
    settled(page)


def test_what_comes_off_goes_back_and_what_is_over_is_told(page, served):
    from condition.flow.desk import Desk
    from condition.flow.parts import lay_out
    from condition.records.photo import Photo
    from condition.records.strip_down import StripDownStep
    from condition.store import Store

    _, job, folder = served
    with Store.open(folder) as store:
        lay_out(Desk(store, "M. Example"), job)
    open_place(page, "Strip-down")
    pick_part(page, "pickguard")
    expect(page.get_by_role("button", name=re.compile("May be celluloid"))).to_be_visible()
    typed(page, "Screws", "8")
    typed(page, "Which hole", "round the edge")
    page.get_by_text("new: Bag 1").first.click()
    page.locator("input[type=file]").first.set_input_files(
        {"name": "layer.jpg", "mimeType": "image/jpeg", "buffer": picture_of_a_layer()}
    )
    expect(page.get_by_text("layer.jpg")).to_be_visible()
    page.get_by_role("button", name="It is off").click()
    expect(page.get_by_text("Came off: 1 step")).to_be_visible()
    (step,) = stored(served, StripDownStep)
    (photo,) = stored(served, Photo)
    assert (step.screw_count, step.screws[0].hole, step.photo_id) == (8, "round the edge", photo.id)
    assert photo.occasion == "strip-down"

    pick_part(page, "output jack")
    page.get_by_role("button", name="Stop: too fragile").click()
    page.get_by_role("button", name="Corroded through").click()
    expect(page.get_by_text("Came off: 2 steps")).to_be_visible()
    expect(page.get_by_text("Stopped, too fragile: Corroded through")).to_be_visible()

    with page.expect_download() as download:
        page.get_by_role("button", name="Labels (PDF)").click()
    with pypdfium2.PdfDocument(download.value.path()) as document:
        sheet = np.ascontiguousarray(document[0].render(scale=200 / 72).to_numpy()[:, :, ::-1])
    text, *_ = cv2.QRCodeDetectorAruco().detectAndDecode(sheet)
    assert text.splitlines()[:2] == ["Bag 1", "Job S-1: Solid guitar"]
    assert "8 screws, round the edge" in text

    page.get_by_text("Putting together").first.click()
    typed(page, "Back in, of 8: round the edge", "7")
    typed(page, "Why are screws over?", "One thread is stripped.")
    page.get_by_role("button", name="It is back on").click()
    expect(page.get_by_text("Bags left: 1, screws left: 1.")).to_be_visible()
    page.get_by_role("button", name="Undo the tick").click()
    page.get_by_role("button", name="It is back on").click()
    expect(page.get_by_text("Bags left: 0, screws left: 0.")).to_be_visible()
    page.reload()
    page.get_by_text("Putting together").first.click()
    expect(page.get_by_text("Bags left: 0, screws left: 0.")).to_be_visible()


@pytest.mark.parametrize("place", ["parts", "strip-down"])
@pytest.mark.parametrize("size", [(390, 844), (1024, 768)])
def test_no_page_scrolls_sideways_or_bars_anybody(chromium, served, place, size):
    from axe_playwright_python.sync_playwright import Axe

    server, job, _ = served
    page = chromium.new_page(viewport={"width": size[0], "height": size[1]})
    page.goto(f"{server.url}/{place}?job={job.id}")
    page.get_by_role("heading", name="Solid guitar").wait_for(timeout=WAIT)
    page.locator("[data-test-script-state=notRunning]").first.wait_for(timeout=WAIT)
    page.wait_for_timeout(2500)
    assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
    found = Axe().run(page).response["violations"]
    page.close()
    serious = [
        (rule["id"], rule["nodes"][0]["html"][:120]) for rule in found if rule["impact"] in ("serious", "critical")
    ]
    assert not serious

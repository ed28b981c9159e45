"""Photos whose cards give no scale, in a real browser: each says why in a sentence, and what can be chosen is chosen.

The photos are drawn by :mod:`scenes` through the cameras of :mod:`cameras`.
"""

from __future__ import annotations

import re

import numpy as np
import pytest
from cameras import over_bench
from PIL import Image
from playwright.sync_api import expect
from scenes import photo, with_cards

from tests.browser import ROOT, Server

WAIT = 60_000
SIZE = (640, 480)
FOCAL_35MM = 49

pytestmark = pytest.mark.browser


def camera(towards: float = 40.0):
    return over_bench(12, towards, 0, 420, 900, *SIZE)


def drawn(cards, towards: float = 40.0) -> np.ndarray:
    return photo(camera(towards), with_cards(cards)).pixels


def saved(folder, name: str, pixels: np.ndarray, focal_35mm: int | None = FOCAL_35MM):
    exif = Image.Exif()
    if focal_35mm:
        exif.get_ifd(0x8769)[0xA405] = focal_35mm
    Image.fromarray(pixels).save(folder / name, quality=95, exif=exif)
    return folder / name


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    from condition.flow.desk import Desk
    from condition.flow.intake import take_in
    from condition.flow.jobs import open_job
    from condition.store import Store

    folder = tmp_path_factory.mktemp("scale")
    plain = drawn([(4, -90.0, 0.0, 0.1), (7, 80.0, 40.0, 1.0)])
    leaning = [(3, -95.0, -60.0, 0.3), (7, 90.0, -55.0, 2.0)]
    left, right = (drawn(leaning, towards) for towards in (180, 0))
    files = [
        saved(folder, "flipped.jpg", plain[:, ::-1]),
        saved(folder, "twice.jpg", drawn([(4, -90.0, 0.0, 0.1), (4, 90.0, 20.0, 1.0)])),
        saved(folder, "leaning.jpg", np.hstack([left[:, : SIZE[0] // 2], right[:, SIZE[0] // 2 :]])),
        saved(folder, "wide.jpg", drawn([(5, -80.0, 20.0, 0.4)]), None),
        saved(folder, "plain.jpg", plain),
    ]
    with Store.open(folder / "store") as store:
        desk = Desk(store, "M. Example")
        job = open_job(desk, "S-1", title="Solid guitar", family="solid electric guitar")
        assert not [one.error for one in take_in(desk, job, [(file.name, file) for file in files]) if one.error]
    server = Server(ROOT / "app.py", {"CONDITION_STORE": str(folder / "store")}).start()
    yield server, job
    server.kill()


@pytest.fixture
def page(chromium, served):
    server, job = served
    context = chromium.new_context(viewport={"width": 1366, "height": 850})
    page = context.new_page()
    page.set_default_timeout(WAIT)
    expect.set_options(timeout=WAIT)
    page.goto(f"{server.url}/photos?job={job.id}")
    yield page
    context.close()


def test_each_photo_without_a_scale_says_why(page):
    for sentence in (
        "The photo is mirrored: its size cards read backwards.",
        "Two cards in the photo have the same number (4)",
        "The size cards 3, 7 do not lie in one plane",
    ):
        expect(page.get_by_text(sentence)).to_be_visible()
    expect(page.get_by_text("Scale from 2 size cards")).to_have_count(1)


def test_one_of_the_cards_that_lie_in_two_planes_is_gone_by_and_the_choice_stays(page):
    cards = page.get_by_role("toolbar", name="Go by these size cards")
    cards.get_by_role("button", name="7").click()
    expect(page.get_by_text("Scale from 1 size card,")).to_be_visible()
    expect(page.get_by_text("Card 7 was set aside")).to_be_visible()
    page.reload()
    expect(page.get_by_text("Card 7 was set aside")).to_be_visible()
    cards.get_by_role("button", name="3").click()
    expect(page.get_by_text("All cards of the photo (3, 7) were set aside.")).to_be_visible()


def test_a_height_that_cannot_be_is_told_and_taken_back(page):
    height = page.get_by_label("Surface above the cards (mm)").last
    height.fill("399")
    height.press("Enter")
    expect(page.get_by_text("A surface 399 mm above the cards would be at the camera")).to_be_visible()
    height.fill("0")
    height.press("Enter")
    expect(page.get_by_text("Scale from 2 size cards")).to_have_count(1)


def test_the_cameras_distance_says_what_a_photo_without_focal_length_does_not(page):
    """The camera of the drawn photo stands 420 mm from the bench."""
    card = page.locator("[class*=st-key-photo-]").filter(has_text="wide.jpg")
    height = card.get_by_role("spinbutton", name="Surface above the cards (mm)")
    height.fill("40")
    height.press("Enter")
    expect(card.get_by_text("so the height's effect is only roughly known")).to_be_visible()
    wider = worth(card)
    distance = card.get_by_role("spinbutton", name="Lens to the cards (mm), as taped")
    distance.fill("420")
    distance.press("Enter")
    expect(card.get_by_text("The photo does not tell its focal length")).to_have_count(0)
    assert worth(card) < 0.8 * wider


def worth(card) -> float:
    """The ± of a photo's scale, percent."""
    return float(re.search(r"± ([\d.]+) %", card.inner_text()).group(1))

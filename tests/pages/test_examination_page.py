"""The examination in a real browser: the findings by keys, several changed at once, light faded in, a photo placed by
hand."""

from __future__ import annotations

import io
import re

import pytest
from PIL import Image
from playwright.sync_api import Page, expect

from condition.flow import placing
from condition.flow.demo import FOLDER
from condition.flow.desk import Desk, new_id
from condition.flow.examination import apply
from condition.flow.findings import new_finding
from condition.flow.intake import take_in
from condition.flow.jobs import open_job, view_named
from condition.flow.photos import arrange
from condition.imaging.decode import decode
from condition.imaging.thumbnails import thumbnail
from condition.records.finding import Finding
from condition.records.mark import Mark
from condition.records.shapes import Line
from condition.store import Store
from tests.browser import ROOT, Server
from tests.light import in_other_light
from tests.pages.canvas.conftest import NOTHING_WAITS

pytestmark = pytest.mark.browser
WAIT = 60_000
CIRCLE = {"shape": "circle", "x": 700.0, "y": 400.0, "radius": 9.0, "rim": []}
LINE = {"shape": "line", "points": [[300.0, 330.0], [310.0, 470.0]]}


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    folder = tmp_path_factory.mktemp("examined") / "store"
    close = thumbnail(decode((FOLDER / "closeup_bridge.jpg").read_bytes(), name="c.jpg").rgb, 1200)
    with Store.open(folder) as store:
        desk = Desk(store, "tester")
        job = open_job(desk, "2026-001", title="Test mandolin")
        view = view_named(desk, job, "front")
        photos = []
        for name, rgb in (("even.jpg", close), ("glow.jpg", in_other_light(close))):
            buffer = io.BytesIO()
            Image.fromarray(rgb).save(buffer, "JPEG", quality=95)
            photos += [one.photo for one in take_in(desk, job, [(name, buffer.getvalue())], view_id=view.id)]
        arrange(desk, photos[1], light="ultraviolet")
        for photo, kind, shape in (
            (photos[0], "crack", LINE),
            (photos[0], "dent", CIRCLE),
            (photos[1], "stain", CIRCLE),
        ):
            mark = {"id": new_id(), "photo_id": photo.id, "finding_id": None, "kind": kind, "shape": shape}
            assert apply(desk, {"op": new_id(), "do": "put", "version": 0, "mark": mark})["ok"]
        new_finding(desk, job, "missing part")
        placing.complete(desk, job.id)
        assert placing.placings_of(desk, job.id)[photos[1].id].sure
        server = Server(ROOT / "app.py", {"CONDITION_STORE": str(folder)}).start()
        yield server, desk, job, photos
        server.kill()


@pytest.fixture
def page(chromium, served) -> Page:
    server, _, job, photos = served
    page = chromium.new_context(viewport={"width": 1366, "height": 900}).new_page()
    page.set_default_timeout(WAIT)
    expect.set_options(timeout=WAIT)
    page.goto(f"{server.url}/examination?job={job.id}&photo={photos[0].id}")
    expect(page.locator(".findings li")).to_have_count(4)
    yield page
    page.context.close()


def row(page: Page, number: int):
    return page.locator(".findings li").nth(number - 1)


def test_keys_go_from_one_finding_to_the_next_and_to_its_photo(page):
    row(page, 1).locator("button").click()
    expect(page.get_by_text("Finding 1", exact=True)).to_be_visible()
    page.keyboard.press("ArrowDown")
    expect(page.get_by_text("Finding 2", exact=True)).to_be_visible()
    expect(row(page, 2).locator("button")).to_have_attribute("aria-current", "true")
    page.locator(".bench .stage").click(position={"x": 5, "y": 5})
    page.keyboard.press("Alt+ArrowDown")
    expect(page.get_by_text("Finding 3", exact=True)).to_be_visible()
    expect(page.get_by_text("glow.jpg to within").or_(page.get_by_text("Laid on even.jpg"))).to_be_visible()


def test_a_finding_that_no_photo_shows_is_told(page):
    expect(row(page, 4)).to_contain_text("no photo shows it")
    expect(page.get_by_text(re.compile("no photo to show it: 4"))).to_be_visible()
    expect(row(page, 1)).not_to_contain_text("no photo shows it")


def test_several_get_a_decision_at_once_and_one_button_takes_it_back(page, served):
    _, desk, job, _ = served
    for number in (1, 2):
        row(page, number).locator("input").check()
    expect(page.get_by_text("2 findings ticked")).to_be_visible()
    page.locator(".st-key-together").get_by_label("Decision").click()
    page.get_by_role("option", name="repair").click()
    page.get_by_role("button", name="Change all 2").click()
    expect(row(page, 2)).to_contain_text("repair")
    assert [one.decision for one in desk.store.find(Finding, job_id=job.id)] == ["repair", "repair", "", ""]
    page.get_by_role("button", name="Take it back").click()
    expect(row(page, 2)).not_to_contain_text("repair")
    assert {one.decision for one in desk.store.find(Finding, job_id=job.id)} == {""}


def test_a_removed_finding_is_put_back_with_its_mark(page, served):
    row(page, 2).locator("button").click()
    page.get_by_role("button", name="Remove this finding and its marks").click()
    expect(page.locator(".findings li")).to_have_count(3)
    page.get_by_role("button", name="Put it back").click()
    expect(page.locator(".findings li")).to_have_count(4)
    expect(row(page, 2)).not_to_contain_text("no photo shows it")


def middle(page: Page) -> list[int]:
    """Colour in the middle of the stage's canvas."""
    return page.evaluate(
        """() => {
        const inside = (e) => [e, ...(e.shadowRoot ? all(e.shadowRoot) : [])];
        const all = (root) => [...root.querySelectorAll('*')].flatMap(inside);
        const canvas = all(document).find((e) => e.matches('canvas.photo'));
        const pixel = canvas.getContext('2d').getImageData(canvas.width / 2, canvas.height / 2, 1, 1);
        return [...pixel.data].slice(0, 3);
        }"""
    )


def test_ultraviolet_fades_in_over_the_photo_by_hand_and_by_key(page):
    page.locator(".bench[data-sharp=true]").wait_for()
    plain = middle(page)
    page.locator(".fader select").select_option(index=1)
    page.locator(".bench[data-layer-sharp=true]").wait_for()
    page.locator(".fader input").fill("100")
    page.wait_for_timeout(500)
    shone = middle(page)
    assert sum(abs(a - b) for a, b in zip(plain, shone, strict=True)) > 60
    page.locator(".bench .stage").click(position={"x": 5, "y": 5})
    for _ in range(10):
        page.keyboard.press("Shift+H")
    page.wait_for_timeout(500)
    assert sum(abs(a - b) for a, b in zip(plain, middle(page), strict=True)) < 12
    page.keyboard.press("y")
    expect(page.locator(".fader select")).to_have_value("")


def test_the_marks_of_the_other_photo_are_seen_thin(page):
    expect(page.locator(".elsewhere text")).to_have_text("3")
    page.locator(".bench .stage").click(position={"x": 5, "y": 5})
    page.keyboard.press("m")
    expect(page.locator(".elsewhere")).to_be_hidden()


def test_a_photo_is_placed_by_hand_with_two_pairs_of_clicks(page, served):
    _, desk, job, photos = served
    row(page, 3).locator("button").click()
    page.get_by_role("button", name="Place it by hand").click()
    halves = page.locator(".pairs canvas")
    expect(halves).to_have_count(2)
    page.wait_for_timeout(1500)
    halves.first.scroll_into_view_if_needed()
    for x, y in ((0.3, 0.35), (0.7, 0.6)):
        for k in (0, 1):
            box = halves.nth(k).bounding_box()
            halves.nth(k).click(position={"x": x * box["width"], "y": y * box["height"]})
    expect(page.get_by_text(re.compile("by hand, 2 pairs"))).to_be_visible()
    one = placing.placings_of(desk, job.id)[photos[1].id]
    assert one.placing.how == "points"
    assert abs(placing.to_base_px(one, [[600.0, 450.0]]) - [[600.0, 450.0]]).max() < 3
    page.get_by_role("button", name="Take all away").click()
    expect(page.get_by_text(re.compile("by hand, 2 pairs"))).to_have_count(0)


def draw(page: Page, *places: tuple[int, int]) -> None:
    """Click on the stage, in screen pixels from its middle."""
    box = page.locator(".bench .stage").bounding_box()
    for x, y in places:
        page.mouse.click(box["x"] + box["width"] / 2 + x, box["y"] + box["height"] / 2 + y)


def test_a_killed_server_and_a_reload_in_mid_draw_lose_nothing(page, served):
    """Points drawn while the server is away arrive when it is back, and the page says so; a line goes on after both."""
    server, desk, _, photos = served
    page.locator(".bench[data-sharp=true]").wait_for()
    before = len(desk.store.find(Mark, photo_id=photos[0].id))
    page.locator(".bench [data-action=point]").click()
    draw(page, (-90, 20))
    page.wait_for_function(NOTHING_WAITS)
    server.kill()
    draw(page, (-30, 20), (30, 20), (90, 20))
    page.get_by_text("3 changes not saved yet").wait_for()
    page.keyboard.press("u")
    page.get_by_text("4 changes not saved yet").wait_for()
    page.keyboard.press("5")
    draw(page, (-90, 60), (-30, 70))
    server.start()
    page.locator(".notice", has_text="Everything is saved").wait_for()
    draw(page, (30, 60))
    page.reload()
    page.locator(".notice", has_text="still here").wait_for()
    page.locator(".bench[data-sharp=true]").wait_for()
    draw(page, (90, 70))
    page.keyboard.press("Enter")
    expect(page.locator(".bench .mark")).to_have_count(before + 4)
    page.wait_for_function(NOTHING_WAITS)
    marks = desk.store.find(Mark, photo_id=photos[0].id)
    assert len(marks) == before + 4
    assert 4 in [len(mark.shape_px.points) for mark in marks if isinstance(mark.shape_px, Line)]

"""The return check in a real browser: photos dropped, the pair confirmed and compared, looked at and decided."""

from __future__ import annotations

import re

import cv2
import numpy as np
import pytest
from playwright.sync_api import Page, expect

from condition.flow.desk import Desk
from condition.flow.intake import take_in
from condition.flow.jobs import open_job
from condition.records.finding import Finding
from condition.records.mark import Mark
from condition.records.photo import Photo
from condition.records.return_check import ReturnChange, ReturnCheck, ReturnVerdict
from condition.store import Store
from tests.browser import ROOT, Server
from tests.pairs import photograph, pose, taken_anew

WAIT = 180_000
SPOT = (360, 180)

pytestmark = pytest.mark.browser


def _written(rgb: np.ndarray, path):
    cv2.imwrite(str(path), rgb[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, 95])
    return path


@pytest.fixture(scope="module")
def bench(chromium, tmp_path_factory):
    """A job with one intake photo, its later photo on the disk, and a browser at the return check."""
    folder = tmp_path_factory.mktemp("photos")
    store = tmp_path_factory.mktemp("bench") / "store"
    coffee = cv2.resize(photograph("coffee"), None, fx=1.2, fy=1.2, interpolation=cv2.INTER_CUBIC)
    spotted = coffee.copy()
    cv2.circle(spotted, SPOT, 15, (40, 20, 15), -1, cv2.LINE_AA)
    opened = Store.open(store)
    desk = Desk(opened, "tester")
    job = open_job(desk, "R-2", title="Test mandolin")
    take_in(desk, job, [("face.jpg", _written(coffee, folder / "face.jpg"))])
    opened.close()
    view = pose(coffee.shape[1], coffee.shape[0], 3.0, 4.0, 1.0)
    later = _written(taken_anew(spotted, view, 7), folder / "later.jpg")
    _written(taken_anew(spotted, view, 8), folder / "back.jpg")
    server = Server(ROOT / "app.py", {"CONDITION_STORE": str(store)}).start()
    context = chromium.new_context(viewport={"width": 1280, "height": 900}, has_touch=True)
    page = context.new_page()
    page.set_default_timeout(WAIT)
    expect.set_options(timeout=WAIT)
    outside: list[str] = []
    page.on(
        "request",
        lambda r: outside.append(r.url) if not re.match(r"(blob:)?(http|ws)://localhost|data:", r.url) else None,
    )
    page.goto(f"{server.url}/return?job={job.id}")
    yield page, store, later, outside
    context.close()
    server.kill()


def kept(store, kind: type) -> tuple:
    """Read the records of a kind while the server has the store open."""
    opened = Store.open(store)
    try:
        return opened.find(kind)
    finally:
        opened.close()


def stage(page: Page):
    return page.locator(".pair .stage")


def colour_at(page: Page, x: float, y: float) -> tuple[int, ...]:
    """The colour the pair's canvas shows at shares of its size."""
    return tuple(
        page.locator(".pair .photo").evaluate(
            """(canvas, [x, y]) => Array.from(canvas.getContext("2d")
                .getImageData(Math.round(x * canvas.width), Math.round(y * canvas.height), 1, 1).data.slice(0, 3))""",
            [x, y],
        )
    )


def shown(page: Page) -> str:
    return page.locator(".pair .photo").evaluate("(canvas) => canvas.toDataURL()")


def test_photos_dropped_are_paired_confirmed_and_compared(bench):
    page, _, later, _ = bench
    page.locator("input[type=file]").set_input_files(str(later))
    page.get_by_role("button", name="Take in 1").click()
    expect(page.get_by_text("1 photo taken in.")).to_be_visible()
    page.get_by_role("button", name="Understood").click()
    page.get_by_role("button", name="Look for pairs").click()
    page.get_by_role("button", name="They belong together").click()
    page.get_by_role("button", name="Compare the pair").click()
    expect(stage(page)).to_be_visible()
    expect(page.get_by_role("heading", name=re.compile("nobody mentioned"))).to_be_visible()


def test_keys_step_to_the_change_and_change_the_way_to_look(bench):
    page, *_ = bench
    stage(page).focus()
    page.keyboard.press("n")
    expect(page.locator(".pair .told")).to_contain_text(re.compile(r"Change 1 of \d+"))
    for key, name in (("2", "Wipe"), ("3", "Blink"), ("4", "Difference"), ("1", "Side by side")):
        page.keyboard.press(key)
        expect(page.locator(".pair").get_by_role("button", name=name, exact=True)).to_have_attribute(
            "aria-pressed", "true"
        )


def test_both_pictures_show_one_place_and_the_later_one_the_spot(bench):
    page, *_ = bench
    stage(page).focus()
    page.keyboard.press("1")
    page.keyboard.press("o")
    expect(page.locator(".pair")).to_have_attribute("data-sharp", "true")
    before, after = (np.array(colour_at(page, x, 0.5), int) for x in (0.25, 0.75))
    assert after.max() < 110
    assert (before - after).max() > 60
    page.keyboard.press("o")


def test_a_finger_wipes_and_two_fingers_zoom(bench):
    page, *_ = bench
    stage(page).focus()
    page.keyboard.press("2")
    box = stage(page).bounding_box()
    y, x = box["y"] + box["height"] / 2, box["x"] + box["width"] / 2
    touch = page.context.new_cdp_session(page)

    def fingers(kind: str, *places: tuple[float, float]) -> None:
        points = [{"x": px, "y": py, "id": k} for k, (px, py) in enumerate(places)]
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
        page.wait_for_timeout(60)

    left = box["x"] + 0.2 * box["width"]
    fingers("touchStart", (x, y))
    fingers("touchMove", ((x + left) / 2, y))
    fingers("touchMove", (left, y))
    fingers("touchEnd")
    page.wait_for_timeout(600)
    expect(page.locator(".pair")).to_have_attribute("data-sharp", "true")
    one, whole = colour_at(page, 0.5, 0.5), shown(page)
    fingers("touchStart", (x - 40, y - 90), (x + 40, y - 90))
    fingers("touchMove", (x - 160, y - 90), (x + 160, y - 90))
    fingers("touchEnd")
    page.wait_for_timeout(600)
    assert shown(page) != whole
    assert max(one) < 130, "the wipe went left, so the middle shows the later photo with its dark spot"
    page.keyboard.press("1")


def test_a_change_is_put_aside_by_keys_with_a_reason_and_taken_back(bench):
    page, store, _, _ = bench
    stage(page).focus()
    page.keyboard.press("0")
    page.keyboard.press("n")
    page.keyboard.press("x")
    why = page.get_by_placeholder("Why it is none")
    expect(why).to_be_focused()
    why.press("Enter")
    expect(page.locator(".pair .told")).to_have_text("Say why, in a few words.")
    why.fill("a crumb, wiped off")
    why.press("Enter")
    expect(page.get_by_text(re.compile(r"\d+ changes? explained or put aside"))).to_be_visible()
    (put_aside,) = [one for one in kept(store, ReturnChange) if one.decision == "dismissed"]
    assert put_aside.words == "a crumb, wiped off"
    expect(stage(page)).to_be_focused()
    page.keyboard.press("u")
    expect(page.get_by_text(re.compile(r"\d+ changes? explained or put aside"))).to_have_count(0)
    assert {one.decision for one in kept(store, ReturnChange)} == {"open"}


def test_a_change_becomes_a_numbered_finding(bench):
    page, store, _, _ = bench
    page.locator("[class*=st-key-return-change-]").first.get_by_role("button", name="Decide").click()
    page.get_by_label("In words").fill("A dark spot nobody mentioned")
    page.get_by_role("button", name="It is a finding").click()
    expect(page.get_by_role("heading", name="1 place became a new finding")).to_be_visible()
    (finding,) = kept(store, Finding)
    assert (finding.number, finding.observation) == (1, "A dark spot nobody mentioned")
    assert any(one.decision == "accepted" and one.finding_id == finding.id for one in kept(store, ReturnChange))


def test_what_was_decided_is_there_after_a_reload(bench):
    page, store, _, outside = bench
    page.reload()
    expect(page.get_by_role("heading", name="1 place became a new finding")).to_be_visible()
    expect(page.get_by_label("What the check came to")).to_contain_text("1 new")
    expect(stage(page)).to_be_visible()
    assert kept(store, ReturnVerdict) == ()
    assert outside == []


def test_a_decision_is_opened_again_and_the_opening_taken_back(bench):
    page, store, _, _ = bench
    accepted = page.get_by_role("heading", name="1 place became a new finding")
    page.get_by_role("button", name="Open again").last.click()
    expect(accepted).to_have_count(0)
    expect(page.locator(".pair button[data-id=undo]")).to_be_enabled()
    stage(page).focus()
    page.keyboard.press("u")
    expect(accepted).to_be_visible()
    (finding,) = kept(store, Finding)
    assert [one.finding_id for one in kept(store, ReturnChange) if one.decision == "accepted"] == [finding.id]


def test_what_comes_back_from_a_specialist_is_checked_the_same_way(bench):
    page, store, later, outside = bench
    handover = page.get_by_role("combobox", name="with")
    handover.scroll_into_view_if_needed()
    page.wait_for_timeout(500)
    handover.click()
    page.get_by_role("option", name="Back from the specialist").click()
    expect(page.get_by_text("Drop the later photos here (Back from the specialist)")).to_be_visible()
    page.locator("input[type=file]").set_input_files(str(later.with_name("back.jpg")))
    page.get_by_role("button", name="Take in 1").click()
    page.get_by_role("button", name="Understood").click()
    page.get_by_role("button", name="Look for pairs").click()
    page.get_by_role("button", name="They belong together").click()
    page.get_by_role("button", name="Compare the pair").click()
    expect(page.get_by_label("What the check came to")).to_contain_text(re.compile("new places? to decide"))
    stage(page).focus()
    page.keyboard.press("n")
    page.keyboard.press("a")
    page.get_by_placeholder("What it is").fill("A spot from the specialist's bench")
    page.keyboard.press("Enter")
    expect(page.get_by_label("What the check came to")).not_to_contain_text("to decide")
    expect(page.get_by_label("What the check came to")).to_contain_text("1 new")
    (check,) = [one for one in kept(store, ReturnCheck) if one.later == "back"]
    (accepted,) = [one for one in kept(store, ReturnChange) if one.check_id == check.id and one.decision == "accepted"]
    (mark,) = [one for one in kept(store, Mark) if one.finding_id == accepted.finding_id]
    assert {one.id: one.occasion for one in kept(store, Photo)}[mark.photo_id] == "back"
    assert outside == []
